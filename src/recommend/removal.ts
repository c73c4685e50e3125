import {FieldError} from "../errors.ts";
import {formatShort as n} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {CropYear} from "./crop-years.ts";
import type {Cited, Guide, GuideCrop} from "./guide.ts";

export interface RemovalOptions {
  /** Id of one of the guide's other removal sets; the guide's own numbers by default. */
  readonly removalSet?: string;
  /** The user's own lb of oxide per bushel or ton, by crop; goes before everything published. */
  readonly removal?: Readonly<Record<string, Readonly<Partial<Record<Nutrient, number>>>>>;
}

/**
 * lb of oxide that one bushel or ton of a crop takes away.
 *
 * @throws {FieldError} `recommend/no-removal-set` for a set the guide does not have, `recommend/bad-removal` for a
 *   number of the user's that is none, `recommend/no-removal` when nobody gives one.
 */
export function removalOf(guide: Guide, crop: GuideCrop, nutrient: Nutrient, options: RemovalOptions): Cited {
  const own = options.removal?.[crop.id]?.[nutrient];
  if (own !== undefined) {
    if (!(own >= 0 && own < Infinity)) {
      throw new FieldError(
        "recommend/bad-removal",
        `A removal of ${own} lb ${nutrient} for ${crop.id} is not possible.`,
        {
          hint: `Give lb of ${nutrient} per ${crop.yieldUnit.split("/")[0]}.`,
        },
      );
    }
    return {value: own, basis: "user"};
  }
  const found = setOf(guide, options)?.removal[crop.id]?.[nutrient] ?? crop.removal[nutrient];
  if (found) return found;
  throw new FieldError("recommend/no-removal", `${guide.cite} gives no ${nutrient} removal for ${crop.id}.`, {
    hint: `Give your own, in lb of ${nutrient} per ${crop.yieldUnit.split("/")[0]}.`,
  });
}

/** One harvest's removal in words and lb of oxide per acre, as in "removal, corn: 180 bu/ac × 0.35". */
export function removalTerm(
  guide: Guide,
  {crop, yieldGoal}: CropYear["harvests"][number],
  nutrient: Nutrient,
  options: RemovalOptions,
): {text: string; value: number; cited: Cited} {
  const cited = removalOf(guide, crop, nutrient, options);
  const set = setOf(guide, options);
  const which = cited.basis === "user" ? ", your own number" : set?.removal[crop.id] ? `, ${set.title}` : "";
  const text = `removal, ${crop.id}: ${n(yieldGoal)} ${crop.yieldUnit} × ${n(cited.value)}${which}`;
  return {text, value: yieldGoal * cited.value, cited};
}

function setOf(guide: Guide, {removalSet}: RemovalOptions) {
  if (removalSet === undefined) return undefined;
  const sets = guide.removalSets ?? [];
  const set = sets.find(({id}) => id === removalSet);
  if (set) return set;
  throw new FieldError("recommend/no-removal-set", `${guide.cite} has no removal numbers called "${removalSet}".`, {
    hint: sets.length > 0 ? `Use one of: ${sets.map(({id}) => id).join(", ")}.` : "Leave removalSet out.",
  });
}
