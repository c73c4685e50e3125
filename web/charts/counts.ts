import type {CountChoice} from "../api/types.ts";

/** One number of zones that was tried. */
export interface CountMark {
  readonly count: number;
  /** Share of what was kept back that the zones explain; 0 for one zone. */
  readonly explained: number;
  /** What 95 of 100 maps laid by chance stay under; absent where none were laid. */
  readonly chance?: number;
  readonly bags: number;
  /** Dollars for one round of sampling; absent without prices. */
  readonly cost?: number;
  readonly recommended: boolean;
  /** Zones that tidying leaves, where those are fewer. */
  readonly fewer?: number;
}

/** The choice of the number of zones as points over it. A share that is not known (`null` in JSON) counts as none. */
export function countMarks({rows, recommended}: CountChoice): CountMark[] {
  return rows.map(({count, heldOut, composites, cost, left}) => ({
    count,
    explained: share(heldOut.explained),
    ...(heldOut.byChance && {chance: share(heldOut.byChance.high)}),
    bags: composites,
    ...(cost !== undefined && {cost}),
    recommended: count === recommended.count,
    ...(left < count && {fewer: left}),
  }));
}

const share = (value: number | null): number => (value !== null && Number.isFinite(value) ? value : 0);
