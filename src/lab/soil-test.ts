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
  | "bray-1"
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
  | "loss on ignition"
  | "walkley-black"
  | "sum of cations"
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
}
