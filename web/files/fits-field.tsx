import {useSignal} from "@preact/signals";
import {useMemo} from "preact/hooks";
import type {ApiProblem, SourceCard} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {Problem} from "../parts/problem.tsx";
import {fresh, page, result, saveJob} from "../state/field.ts";
import {shapesOf} from "../state/shapes.ts";
import {read, write} from "../stations/job-path.ts";
import type {Settings} from "./answers.ts";
import {sayWhere} from "./lies-in.ts";
import {type NamedBags, otherPrefix, sayBags} from "./say-card.ts";

/** Whether a file is of this field: where it lies, and whether its samples are bags of the plans. */
export function FitsField({card, settings, lab}: {card: SourceCard; settings: Settings; lab: boolean}) {
  const outline = page.value?.card.outline;
  const where = useMemo(() => outline && sayWhere(outline, card), [outline, card.id]);
  const plans = lab ? plansFor(card, settings) : undefined;
  const bags = plans && sayBags(card.ids?.of ?? [], plans);
  return (
    <>
      {where && (
        <p class={where.doubt ? "note strong" : "small soft"}>
          {where.words}
          {where.doubt && <b style="font-weight:600"> Look whether it is a file of another field.</b>}
        </p>
      )}
      {bags && (
        <p class={bags.doubt ? "note strong" : "small"}>
          {bags.words}
          {bags.doubt && <b style="font-weight:600"> Look whether it is a report on another field or plan.</b>}
        </p>
      )}
      {bags?.doubt && plans && <OtherPrefix ids={card.ids?.of ?? []} plans={plans} />}
    </>
  );
}

const PREFIX = ["field", "prefix"] as const;

/** Bags that were numbered by the same plan and called by other letters. Results that are there keep the ids they came by. */
function OtherPrefix({ids, plans}: {readonly ids: readonly string[]; readonly plans: readonly NamedBags[]}) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const found = otherPrefix(ids, plans);
  if (!found || read(page.value?.job, ["lab", "files"]) !== undefined) return null;
  const {name, theirs, ours} = found;
  return (
    <>
      <p class="small">
        Its {ids.length} ids are those of the plan {name} with {theirs} in place of {ours}. If the samples were taken by
        this plan, let its bags be called so:{" "}
        <button
          type="button"
          disabled={!fresh.value}
          onClick={async () => {
            wrong.value = await saveJob((job) => write(job, PREFIX, theirs));
          }}
        >
          Begin this field's ids with {theirs}
        </button>
      </p>
      {wrong.value && <Problem problem={wrong.value} />}
    </>
  );
}

/** The bags of the plans that a report's ids are to be found among; nothing without plans or while their shapes come. */
function plansFor({ids}: SourceCard, settings: Settings): readonly NamedBags[] | undefined {
  const made = result.value;
  if (!made || !ids || ids.of.length === 0 || settings.x !== undefined) return undefined;
  if (settings.sampleId !== undefined && settings.sampleId !== ids.column) return undefined;
  const plans: NamedBags[] = [];
  for (const {strategy} of made.strategies) {
    const shapes = `plan-${strategy}-units`;
    if (!made.shapes.includes(shapes)) continue;
    const units = shapesOf(made.id, shapes);
    if (!units) return undefined;
    plans.push({name: NAMES[strategy], bags: units.features.map((one) => String(one.properties?.sample ?? one.id))});
  }
  return plans.length > 0 ? plans : undefined;
}
