import type {Settings} from "./answers.ts";

// Sentences of the card of a file.

/** "2023 corn, from the file's name." */
export function sayHarvest({crop, season}: Settings, fromName: Settings): string {
  const [isCrop, isYear] = [crop !== undefined, season !== undefined];
  if (!isCrop && !isYear) return "Which crop was harvested, and in which year? The file's name does not say.";
  const whence = (given: unknown, named: unknown): string => (given === named ? ", from the file's name" : "");
  if (!isCrop) return `Which crop was harvested? ${season}${whence(season, fromName.season)}.`;
  if (!isYear) return `In which year was it harvested? ${crop}${whence(crop, fromName.crop)}.`;
  const [ofCrop, ofYear] = [whence(crop, fromName.crop), whence(season, fromName.season)];
  if (ofCrop !== ofYear) return `${season}${ofYear}; ${crop}${ofCrop}.`;
  return `${season} ${crop}${ofCrop}.`;
}

/** A plan by its name, with the ids of its bags. */
export interface NamedBags {
  readonly name: string;
  readonly bags: readonly string[];
}

/** "15 of 15 ids are bags of the plan Grid; none is one of Whole field or Zones." */
export function sayBags(ids: readonly string[], plans: readonly NamedBags[]): {words: string; doubt: boolean} {
  // As the program joins them: but for outer spaces and case.
  const same = (id: string): string => id.trim().toUpperCase();
  const counts = plans.map(({name, bags}) => {
    const known = new Set(bags.map(same));
    const count = ids.filter((id) => known.has(same(id))).length;
    return {name, count, without: count === ids.length ? known.size - count : 0, of: known.size};
  });
  const all = `${ids.length} ${ids.length === 1 ? "id" : "ids"}`;
  const some = counts.filter(({count}) => count > 0);
  const none = counts.filter(({count}) => count === 0).map(({name}) => name);
  if (some.length === 0) {
    return {
      words: `None of its ${all} is a bag of this field's plans (${none.join(", ")}).`,
      doubt: true,
    };
  }
  const are = some.map(
    ({name, count, without, of}) =>
      `${count} of ${all} ${count === 1 ? "is a bag" : "are bags"} of the plan ${name}${without > 0 ? `, and ${without} of its ${of} bags ${without === 1 ? "has" : "have"} no result here` : ""}`,
  );
  return {words: `${are.join(", ")}${none.length > 0 ? `; none of ${none.join(" or ")}` : ""}.`, doubt: false};
}

/**
 * What ids begin with that are, all of them and no fewer, the bags of one plan but for that; nothing where there is no
 * such plan. Who says that they are the same bags is the reader.
 */
export function otherPrefix(
  ids: readonly string[],
  plans: readonly NamedBags[],
): {readonly name: string; readonly theirs: string; readonly ours: string} | undefined {
  const parts = ids.map((id) => ID.exec(id.trim().toUpperCase()) ?? []);
  const theirs = parts[0]?.[1];
  if (theirs === undefined || parts.some((part) => part[1] !== theirs)) return undefined;
  const numbers = new Set(parts.map((part) => part[2]));
  for (const {name, bags} of plans) {
    const own = bags.map((bag) => ID.exec(bag) ?? []);
    const ours = own[0]?.[1];
    if (ours === undefined || ours === theirs || own.length !== ids.length || numbers.size !== ids.length) continue;
    if (own.every((part) => numbers.has(part[2]))) return {name, theirs, ours};
  }
  return undefined;
}

/** Field; strategy and number. */
const ID = /^([A-HJ-NP-Z]{1,3})([GWZ]\d{2,3})$/;
