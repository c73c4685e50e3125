/** What was measured. Soil tests are elemental: P is P, never P2O5. */
export type Analyte =
  | "P"
  | "K"
  | "Ca"
  | "Mg"
  | "S"
  | "Zn"
  | "B"
  | "Mn"
  | "Fe"
  | "Cu"
  | "pH"
  | "buffer pH"
  | "OM"
  | "CEC";

export type SoilTestUnit = "mg/kg" | "lb/ac" | "%" | "meq/100 g" | "pH";

/**
 * How it was measured: extractant and detection. A number without its method does not exist.
 *
 * Mehlich-3 by ICP and by colorimetry are different tests; so are dried and field-moist potassium.
 */
export type Method =
  | "mehlich-3 icp"
  | "mehlich-3 colorimetric"
  /** Detection not stated: enough for potassium, not for phosphorus. */
  | "mehlich-3"
  | "bray-1"
  | "bray-2"
  | "olsen"
  | "ammonium acetate"
  | "mehlich-3 field-moist"
  | "ammonium acetate field-moist"
  | "resin"
  | "water 1:1"
  | "cacl2"
  | "smp"
  | "sikora"
  | "mehlich buffer"
  | "woodruff"
  | "adams-evans"
  | "loss on ignition"
  | "walkley-black"
  | "sum of cations"
  | "displacement"
  | "monocalcium phosphate"
  | "mehlich-1"
  | "dtpa"
  | "hot water";

/** One result as the lab reported it; conversions make a new one, never change this. */
export interface SoilTest {
  readonly sampleId: string;
  readonly analyte: Analyte;
  readonly value: number;
  readonly unit: SoilTestUnit;
  readonly method: Method;
  /** `"<"`: below the detection limit `value`; `">"`: above the reading range. */
  readonly qualifier?: "<" | ">";
  /** Lower end of the sampled layer, metres, measured from the surface. */
  readonly depthM: number;
  readonly source: {readonly file: string; readonly row: number; readonly column: string};
  /** Field and day as the lab's file gives them, where it does. */
  readonly field?: string;
  readonly date?: string;
  /** What the lab printed, where `value` is a conversion of it. */
  readonly convertedFrom?: {readonly value: number; readonly unit: SoilTestUnit};
}

/** One number for one sampling unit, ready for a guide: a result, or a mean of several. */
export interface UnitValue {
  readonly analyte: Analyte;
  readonly value: number;
  readonly unit: SoilTestUnit;
  readonly method: Method;
  readonly depthM: number;
  /** How it came about, in words: "sample Z1 (lab.csv, row 4)", "mean of 3 samples: A1 12, A2 18, A3 15". */
  readonly from: string;
}
