import type {Issue} from "../errors.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import type {Provenance} from "../provenance.ts";
import type {Metres, SquareMetres} from "../units/quantity.ts";

export type Strategy = "whole-field" | "grid" | "zone";

/** Where one push of the probe goes, metres in the field's frame. */
export interface Core extends XY {
  /** 1-based within its unit, in walking order. */
  readonly number: number;
  /** Where the plan had put it, when a person put it elsewhere. */
  readonly movedFrom?: XY;
}

/** One composite sample, one bag, and the ground it speaks for. */
export interface SamplingUnit {
  /** Sample id: short, upper case, no spaces, unique over all strategies of a field. */
  readonly id: string;
  /** In words: "zone 3", "cell C4", "composite 2 of 7". */
  readonly label: string;
  readonly shape: MultiPolygon;
  readonly area: SquareMetres;
  readonly cores: readonly Core[];
  /** Zone the unit belongs to, for zone plans. */
  readonly zone?: number;
  /** Middle of the core circle, for grid plans sampled at points. */
  readonly centre?: XY;
  /** Distance the cores keep from the unit's own edge: less than asked for where the unit is narrow. */
  readonly edge?: Metres;
  /** Least distance between two of its cores. */
  readonly spacing?: Metres;
  /** Part of the unit that lies in keep-outs, where no core is taken. */
  readonly keptOut?: SquareMetres;
  /** Where cores could go: the unit less keep-outs and edges. Known where there are keep-outs. */
  readonly room?: SquareMetres;
  /** Length of the line its cores stand on, for units sampled along a line. */
  readonly transect?: Metres;
}

/** A second bag of a unit with cores of its own. The difference of the two is noise: cores, bagging and laboratory. */
export interface DuplicateBag {
  /** A number of its own, so that the laboratory cannot tell. */
  readonly id: string;
  /** Id of the unit it was taken from. */
  readonly of: string;
  readonly cores: readonly Core[];
}

/** The way past all cores. */
export interface Route {
  /** From the gate or the first core to the last core or back at the gate, with every bend. Metres in the field's frame. */
  readonly line: readonly XY[];
  readonly length: Metres;
  /** True when it ends at the gate. */
  readonly returns: boolean;
}

/** Every acre of the field belongs to exactly one unit. */
export interface SamplingPlan {
  readonly strategy: Strategy;
  /** In walking order: numbers of ids rise along the walk, so that bags fill in order. */
  readonly units: readonly SamplingUnit[];
  /** Sampling depth, stored with each sample because recommendations are calibrated to one. */
  readonly depth: Metres;
  /** True when one rate is made from the mean of all units (whole field by default). */
  readonly pooled: boolean;
  /** Units sampled twice, in the order of the walk. */
  readonly duplicates?: readonly DuplicateBag[];
  /** Length of the walk past all cores, unit by unit: along the route if there is one, else straight from core to core. */
  readonly walk?: Metres;
  /** Present when the way was worked out around obstacles and along rows. */
  readonly route?: Route;
  readonly seed: number;
  readonly issues: readonly Issue[];
  readonly madeFrom: Provenance;
}
