import {useMemo} from "preact/hooks";
import type {SourceCard} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {page, result} from "../state/field.ts";
import {shapesOf} from "../state/shapes.ts";
import type {Settings} from "./answers.ts";
import {sayWhere} from "./lies-in.ts";
import {sayBags} from "./say-card.ts";

/** Whether a file is of this field: where it lies, and whether its samples are bags of the plans. */
export function FitsField({card, settings, lab}: {card: SourceCard; settings: Settings; lab: boolean}) {
  const outline = page.value?.card.outline;
  const where = useMemo(() => outline && sayWhere(outline, card), [outline, card.id]);
  const bags = lab ? bagsOfPlans(card, settings) : undefined;
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
    </>
  );
}

/** How many sample ids are bags of each plan; nothing without plans or while their shapes come. */
function bagsOfPlans({ids}: SourceCard, settings: Settings): {words: string; doubt: boolean} | undefined {
  const made = result.value;
  if (!made || !ids || ids.of.length === 0 || settings.x !== undefined) return undefined;
  if (settings.sampleId !== undefined && settings.sampleId !== ids.column) return undefined;
  const plans: {name: string; bags: readonly string[]}[] = [];
  for (const {strategy} of made.strategies) {
    const shapes = `plan-${strategy}-units`;
    if (!made.shapes.includes(shapes)) continue;
    const units = shapesOf(made.id, shapes);
    if (!units) return undefined;
    plans.push({name: NAMES[strategy], bags: units.features.map((one) => String(one.properties?.sample ?? one.id))});
  }
  return plans.length > 0 ? sayBags(ids.of, plans) : undefined;
}
