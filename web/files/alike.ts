import type {SourceCard} from "../api/types.ts";
import {page} from "../state/field.ts";
import {answersIn, type Settings} from "./answers.ts";
import {openIn, questionsOf, settingsOf} from "./file-form.tsx";
import {usesOf} from "./uses.ts";
import {isRead, type Ready, waiting} from "./waiting.ts";

// A laboratory's reports are all of one form: what was said of one is proposed for those with the same headings.

export const haveSameHeadings = (a: SourceCard, b: SourceCard): boolean => {
  const [mine, others] = [a, b].map(({columns = []}) => columns.map(({heading}) => heading));
  return mine !== undefined && mine.length > 0 && JSON.stringify(mine) === JSON.stringify(others);
};

/** Answers the reports that wait as one with the same headings was answered; those begun by hand are left. */
export function answerAlike(): void {
  for (const file of waiting.peek().filter(isRead)) {
    const {card, draft} = file;
    if (draft.as.value !== "lab" || draft.answers.value.some(Boolean) || openIn(card, draft) === "") continue;
    const found = likeOnField(card) ?? likeWaiting(file);
    if (found) answerAs(file, found.name, found.settings);
  }
}

/** Reports that wait, have the same headings and are not answered so. */
export function othersAlike({card, draft}: Ready): readonly Ready[] {
  if (draft.as.value !== "lab" || openIn(card, draft) !== "" || questionsOf(card, draft).length === 0) return [];
  return waiting.value.filter(isRead).filter((other) => {
    if (other.card.id === card.id || other.draft.as.value !== "lab" || !haveSameHeadings(other.card, card))
      return false;
    const questions = questionsOf(other.card, other.draft);
    const [wanted, has] = [card, other.card].map((one, i) =>
      JSON.stringify(answersIn(settingsOf(one, i === 0 ? draft : other.draft), questions)),
    );
    return wanted !== has;
  });
}

/** Answers a report as another was. Columns that were told by hand there are told here, and ask for nothing more. */
export function answerAs({card, draft}: Ready, name: string, settings: Settings): void {
  const {analytes, sampleId} = settings;
  const questions = questionsOf(card, draft);
  const told = answersIn(settings, questions);
  if (analytes) {
    draft.settings.value = {...draft.settings.value, analytes, ...(sampleId !== undefined && {sampleId})};
    draft.answers.value = told.map((answer, i) => (questions[i]?.column === undefined ? answer : ""));
  } else draft.answers.value = told;
  draft.like.value = name;
}

interface Like {
  readonly name: string;
  readonly settings: Settings;
}

function likeOnField(card: SourceCard): Like | undefined {
  const {sources = [], job = {}} = page.value ?? {};
  for (const source of sources.filter((one) => haveSameHeadings(one, card))) {
    const use = usesOf(job, source.name).find(({as}) => as === "lab");
    if (use) return {name: source.name, settings: use.settings};
  }
  return undefined;
}

function likeWaiting({card}: Ready): Like | undefined {
  const found = waiting
    .peek()
    .filter(isRead)
    .find(
      (other) =>
        other.card.id !== card.id &&
        other.draft.as.value === "lab" &&
        haveSameHeadings(other.card, card) &&
        openIn(other.card, other.draft) === "",
    );
  return found && {name: found.name, settings: settingsOf(found.card, found.draft)};
}
