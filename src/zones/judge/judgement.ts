import type {Issue} from "../../errors.ts";
import type {NullComparison} from "../spatial-null.ts";
import type {Stability} from "../stability.ts";

/** What a zone map explains of one layer or one set of samples. Shares run from 0 to 1. */
export interface Explained {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  /** Values that took part. */
  readonly count: number;
  /** Share of the variance that zones explain: 1 − (squares within zones) / (squares about the mean), eta squared. */
  readonly explained: number;
  /** 1 − MSW / s²: the same less what as many groups explain of values that have nothing to do with each other. */
  readonly adjusted: number;
  readonly omega2: number;
  /** Mean in each zone from zone 1, in the unit; NaN where a zone has no value. */
  readonly means: readonly number[];
}

/** A season, layer or set of samples that the zones were not made from, and zone maps laid by chance on it. */
export interface KeptBack extends Explained {
  readonly kind: "season" | "layer" | "samples";
  readonly byChance: NullComparison;
  /** For a season: how alike the zones made without it are to those of the map (adjusted Rand index). */
  readonly likeMap?: number;
  /**
   * For samples: each pair of zones, its difference of means and the interval of 95 % that holds for all pairs at once
   * (Tukey and Kramer). Samples are taken as independent, so for samples close together it is too narrow.
   */
  readonly differences?: readonly ZoneDifference[];
}

export interface ZoneDifference {
  readonly from: number;
  readonly to: number;
  /** Mean of zone `to` less mean of zone `from`, in the unit of the values. */
  readonly difference: number;
  readonly low: number;
  readonly high: number;
}

export type Evidence = "none" | "weak" | "useful" | "strong" | "unknown";

/** All of one kind that was kept back, taken together. */
export interface Overall {
  readonly kind: KeptBack["kind"];
  readonly evidence: Evidence;
  /** Mean share explained. */
  readonly explained: number;
  /** Of the same mean under each shift. */
  readonly byChance: NullComparison;
  readonly count: number;
}

export interface Judgement {
  /** The layers zones were made from: any zones explain a part of these, so nothing follows from them. */
  readonly madeFrom: readonly Explained[];
  readonly keptBack: readonly KeptBack[];
  /** For each kind that there is; the leading one first: soil samples, then seasons, then layers. */
  readonly overall: readonly Overall[];
  /** Left out for a map that was drawn elsewhere. */
  readonly stability?: Stability;
  /** Of the leading kind. */
  readonly evidence: Evidence;
  /** Sentences for people, the most important first. */
  readonly verdict: readonly string[];
  readonly issues: readonly Issue[];
  readonly options: {
    readonly draws: number;
    readonly resamples: number;
    readonly blockM: number;
    readonly seed: number;
  };
}
