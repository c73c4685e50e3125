import type {LonLatMultiPolygon} from "../../geo/shapes.ts";
import type {Raster} from "../../grid/raster.ts";
import type {Presentation, RateKind} from "./data-dictionary.ts";

/** What a rate map is spread on. */
export interface TaskField {
  readonly name: string;
  /** Degrees, WGS 84. */
  readonly boundary: LonLatMultiPolygon;
  readonly customer?: string;
  readonly farm?: string;
}

/** A product in a task. Rates are always kg/ha, L/ha or seeds/m2; `unit` is only what the terminal shows. */
export interface TaskProduct {
  readonly name: string;
  readonly kind: RateKind;
  /** "lb/ac", "kg/ha", "ton/ac", "t/ha"; "gal/ac", "L/ha"; "seeds/ac", "seeds/ha", "seeds/m2". */
  readonly unit: string;
}

/** Ground with one rate of each product. Every part takes a zone code of its own. */
export interface TaskZone {
  readonly name: string;
  readonly shape: LonLatMultiPolygon;
  /** One for each product, in their order. */
  readonly rates: readonly number[];
}

/** Rates in cells of equal size in degrees. */
export interface TaskGrid {
  /** Outer edges, degrees. */
  readonly west: number;
  readonly north: number;
  readonly cellWidth: number;
  readonly cellHeight: number;
  readonly cols: number;
  readonly rows: number;
  /** One array for each product, row-major, row 0 north. NaN outside the field: those cells get the rate for outside. */
  readonly rates: readonly Float64Array[];
  /** 1: every cell names a zone, at most 252 different rates. 2: every cell holds its own rates. */
  readonly type: 1 | 2;
}

/** One trip over the field: one or more products, as zones or as a grid. */
export interface TaskPlan {
  readonly name: string;
  readonly products: readonly TaskProduct[];
  readonly map: {readonly zones: readonly TaskZone[]} | {readonly grid: TaskGrid};
  /** Before the map takes effect, one rate for each product. */
  readonly defaultRates: readonly number[];
  /** While the position is lost. */
  readonly positionLostRates: readonly number[];
  /** Outside every zone or cell. */
  readonly outOfFieldRates: readonly number[];
}

/** What a task data file holds. Ids are the file's own. */
export interface TaskData {
  /** "4.3". */
  readonly version: string;
  readonly software: string;
  /** Who wrote it: the office or the machine. */
  readonly origin: "office" | "machine" | "unknown";
  readonly fields: readonly ReadField[];
  readonly tasks: readonly ReadTask[];
  readonly elements: readonly DeviceElement[];
}

export interface ReadField {
  readonly id: string;
  readonly name: string;
  /** As the file states it; 0 and absent both mean unknown. */
  readonly statedAreaM2?: number;
  readonly customer?: string;
  readonly farm?: string;
  /** Empty when the file has none. */
  readonly boundary: LonLatMultiPolygon;
}

export interface ReadTask {
  readonly id: string;
  readonly name: string;
  readonly field?: string;
  readonly zones: readonly ReadZone[];
  /** Codes of zones with a special part to play. */
  readonly defaultZone?: number;
  readonly positionLostZone?: number;
  readonly outOfFieldZone?: number;
  readonly grid?: ReadGrid;
  /** Names of time logs, to be read with `readTimeLog`. */
  readonly timeLogs: readonly string[];
}

export interface ReadZone {
  readonly code: number;
  readonly name: string;
  /** Empty for zones a grid refers to and for special zones. */
  readonly shape: LonLatMultiPolygon;
  readonly values: readonly ZoneValue[];
}

/** One value of a zone. In a zone that a grid of type 2 refers to, `raw` has no meaning. */
export interface ZoneValue {
  readonly ddi: number;
  readonly raw: number;
  /** `raw` in `unit`: kg/ha, L/ha, /m2 for rates. */
  readonly value: number;
  readonly unit: string;
  readonly product?: string;
  readonly element?: string;
  readonly presentation?: Presentation;
}

/** Rates in cells. */
export interface ReadGrid {
  readonly type: 1 | 2;
  readonly cols: number;
  readonly rows: number;
  /** Type 1: the zone code of each cell, row-major, row 0 north. */
  readonly codes?: Uint8Array;
  /**
   * One for each value, in the order of the zones' values. Type 1: NaN where the cell has the code for out of field or
   * one the task does not have. Type 2: every cell has a rate; the format cannot mark cells as outside.
   */
  readonly layers: readonly GridLayer[];
}

export interface GridLayer {
  readonly ddi: number;
  readonly product?: string;
  readonly presentation?: Presentation;
  /** Its `unit` is that of the values: kg/ha, L/ha, /m2 for rates. */
  readonly raster: Raster;
}

/** A part of a machine that logged values. */
export interface DeviceElement {
  readonly id: string;
  readonly device: string;
  readonly name: string;
}

/** What a machine logged while it worked; record `i` is index `i` of every array. NaN is "not known". */
export interface TimeLog {
  readonly name: string;
  readonly count: number;
  /** Seconds since 1980-01-01 00:00 by the terminal's clock, whose time zone the file does not give. */
  readonly timeS: Float64Array;
  /** Degrees; NaN where the receiver had no fix. */
  readonly lon: Float64Array;
  readonly lat: Float64Array;
  /** Height, metres. */
  readonly upM?: Float64Array;
  /** Kind of fix: 1 single, 2 differential, 4 fixed ambiguities, 5 floating; 0 none. */
  readonly status?: Float64Array;
  readonly pdop?: Float64Array;
  readonly hdop?: Float64Array;
  readonly satellites?: Float64Array;
  /** Seconds since 1980-01-01 00:00 UTC, by the receiver. */
  readonly utcS?: Float64Array;
  readonly channels: readonly TimeLogChannel[];
}

export interface TimeLogChannel {
  readonly ddi: number;
  readonly name: string;
  readonly unit: string;
  /** Id of the part of the machine, as in `DeviceElement`. */
  readonly element: string;
  /** The last value logged so far; NaN before the first. */
  readonly values: Float64Array;
}
