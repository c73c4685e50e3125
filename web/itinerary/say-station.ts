import type {FieldPage, ResultCard, Station, StrategyCard} from "../api/types.ts";
import {result} from "../state/field.ts";

/** Where a station stands; of several plans that have not all come so far, how many have. */
export function sayStation({card}: FieldPage, station: Station): string {
  const {state, line} = card.stations[station];
  const some = state === "done" && result.value ? someOf(result.value, station) : undefined;
  return some ?? line;
}

interface Counted {
  readonly has: (plan: StrategyCard) => boolean;
  readonly one: string;
  readonly more: string;
}

const rated = ({products}: StrategyCard): boolean => products.length > 0;

const COUNTED: Partial<Record<Station, Counted>> = {
  lab: {has: ({tested}) => tested !== 0, one: "has results", more: "have results"},
  rates: {has: rated, one: "rated", more: "rated"},
  compare: {has: rated, one: "rated, and nothing to compare it with", more: "rated and side by side"},
};

function someOf({strategies}: ResultCard, station: Station): string | undefined {
  const counted = COUNTED[station];
  const count = counted ? strategies.filter(counted.has).length : 0;
  if (!counted || count === 0 || count === strategies.length) return undefined;
  return `${count} of ${strategies.length} plans ${count === 1 ? counted.one : counted.more}.`;
}
