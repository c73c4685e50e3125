import {type Signal, signal} from "@preact/signals";
import {useEffect, useMemo} from "preact/hooks";
import type {AttachAs, SourceCard} from "../api/types.ts";
import {page} from "../state/field.ts";
import {loadJobShape} from "../stations/job-schema.ts";
import {SchemaForm, Suggestions} from "../stations/schema-form.tsx";
import {answered, type Settings} from "./answers.ts";
import {missingIn, settingsShape} from "./attach-as.ts";
import {ColumnMap, ColumnsInWords} from "./column-map.tsx";
import {columnRoles} from "./column-roles.ts";
import {CropAndSeason} from "./crop-and-season.tsx";
import {FitsField} from "./fits-field.tsx";
import {hasDistance, isMapped, isSettled, stillOpen} from "./mapping.ts";
import {Questions} from "./questions.tsx";

/** How a file is to be read, as far as it has been said. */
export interface Draft {
  readonly as: Signal<AttachAs | undefined>;
  readonly settings: Signal<Settings>;
  /** To the questions of the file, in their order. */
  readonly answers: Signal<readonly string[]>;
  /** The file with the same headings after which it was answered; empty where by none. */
  readonly like: Signal<string>;
}

export const beginDraft = (as: AttachAs | undefined, settings: Settings): Draft => ({
  as: signal(as),
  settings: signal(settings),
  answers: signal([]),
  like: signal(""),
});

/** The questions the file leaves open; they are about what it looks like, and fall away when it is taken for another. */
export const questionsOf = (card: SourceCard, {as}: Draft): NonNullable<SourceCard["questions"]> =>
  as.value !== undefined && as.value === card.looksLike[0] ? (card.questions ?? []) : [];

/** The settings as they would be written. */
export const settingsOf = (card: SourceCard, draft: Draft): Settings =>
  draft.as.value === undefined
    ? draft.settings.value
    : answered(draft.settings.value, draft.as.value, questionsOf(card, draft), draft.answers.value);

/** What has still to be said, in words; empty when the file can be attached. */
export function openIn(card: SourceCard, draft: Draft): string {
  const as = draft.as.value;
  if (as === undefined) return "Say what the file is.";
  const questions = questionsOf(card, draft);
  const settings = settingsOf(card, draft);
  const open = questions.filter((one, i) => !draft.answers.value[i] && !isSettled(one, as, settings));
  if (open.length > 0) return "Answer what the file leaves open, then attach it.";
  if (as === "lab" && !card.looksLike.includes("lab") && settings.analytes === undefined) {
    return "Say which columns hold the sample id and what was measured.";
  }
  const columns = isMapped(as) && card.columns ? stillOpen(as, settings, card.columns) : "";
  if (columns) return columns;
  if (as === "keep-out" && !hasDistance(settings)) {
    return 'Say under "How it is read" how far cores keep from it ("0 ft": as drawn), or what kind of thing it is.';
  }
  const missing = missingIn(as, settings).filter((key) => !(isMapped(as) && card.columns && key === "column"));
  if (as === "yield" && missing.length > 0) return `Say the ${missing.join(" and the ")} of what was harvested.`;
  return missing.length > 0 ? `Say ${missing.join(", ")} under "How it is read".` : "";
}

/** Settings that are the heading of a column or the name of an attribute. */
const NAMES_A_COLUMN = ["column", "class", "zone", "x", "y", "sample id", "rate"];

/** Questions, columns and settings of a file, to be confirmed or changed. */
export function FileForm({
  card,
  draft,
  open,
}: {
  readonly card: SourceCard;
  readonly draft: Draft;
  readonly open: boolean;
}) {
  useEffect(loadJobShape, []);
  // What is set while one writes stays where it was begun.
  const known = useMemo(() => Object.keys(draft.settings.value), []);
  const as = draft.as.value;
  const questions = questionsOf(card, draft);
  const headings = (card.columns ?? []).map(({heading}) => heading);
  const suggestions = {
    crop: columnRoles.value?.crops ?? [],
    file: (page.value?.sources ?? []).map(({name}) => name),
    ...Object.fromEntries(NAMES_A_COLUMN.map((key) => [key, headings])),
  };
  if (as === undefined) return null;
  const {main, more} = settingsShape(as, known, (card.columns ?? []).length > 0);
  const form = {
    value: draft.settings.value,
    label: card.name,
    put: (next: unknown) => {
      draft.settings.value = (next ?? {}) as Settings;
    },
  };
  return (
    <>
      {as === "yield" && <CropAndSeason card={card} settings={draft.settings.value} put={form.put} />}
      <FitsField card={card} settings={draft.settings.value} lab={as === "lab"} />
      <Questions
        name={card.id}
        questions={questions}
        answers={draft.answers}
        like={draft.like.value}
        isSettled={(one) => isSettled(one, as, draft.settings.value)}
      />
      {isMapped(as) && card.columns && <ColumnsInWords as={as} columns={card.columns} settings={draft.settings} />}
      <details open={open} class="how-read">
        <summary>How it is read</summary>
        <Suggestions.Provider value={suggestions}>
          <SchemaForm shape={main} {...form} />
          {isMapped(as) && card.columns && <ColumnMap as={as} columns={card.columns} settings={draft.settings} />}
          {Object.keys(more.properties ?? {}).length > 0 && (
            <details>
              <summary>More</summary>
              <SchemaForm shape={more} {...form} />
            </details>
          )}
        </Suggestions.Provider>
      </details>
    </>
  );
}
