/**
 * One harvest's raw records, in the field's frame and SI units; record `i` is index `i` of every column.
 *
 * Columns a machine did not log are absent. NaN is "not recorded" for that row. Records stand in file order.
 */
export interface YieldLog {
  readonly id: string;
  readonly crop: string;
  readonly season: number;
  /** Position of the receiver, metres in the field's frame. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Seconds since any fixed moment. */
  readonly timeS?: Float64Array;
  /** Mass flow of wet grain, kg/s. */
  readonly flowKgPerS?: Float64Array;
  /** Wet grain of the record, kg, where a machine logs that in place of a flow. */
  readonly massKg?: Float64Array;
  /** Distance driven since the record before, metres. */
  readonly distanceM?: Float64Array;
  /** Time covered by the record, seconds. */
  readonly intervalS?: Float64Array;
  readonly swathM?: Float64Array;
  /** Grain moisture, percent wet basis. */
  readonly moisturePct?: Float64Array;
  readonly speedMPerS?: Float64Array;
  /** Yield as the machine or an earlier program gave it, t/ha at the crop's standard moisture. */
  readonly givenYieldTPerHa?: Float64Array;
  /** 1 header down, 0 header up. */
  readonly headerDown?: Float64Array;
  /** Number of the pass as the machine logged it. */
  readonly pass?: Float64Array;
  /** Number of the machine, where several harvested the field. */
  readonly machine?: Float64Array;
  /** Market weight of a bushel and the moisture it is bought at: settings kept with the map. */
  readonly bushelPounds: number;
  readonly standardMoisturePct: number;
}
