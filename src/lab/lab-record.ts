/**
 * One result in a lab file's own words: what a row of a long table or an element of a structured file says, nothing
 * interpreted but the place of it. Texts are empty where the file is silent.
 */
export interface LabRecord {
  readonly sampleId: string;
  /** Field the sample is said to be from. */
  readonly field: string;
  /** Day of sampling or of the report, as written. */
  readonly date: string;
  /** Lower end of the sampled layer, metres, where the file gives it with a unit. */
  readonly depthM?: number;
  readonly analyte: string;
  readonly value: string;
  readonly unit: string;
  /** A method's name or code. */
  readonly method: string;
  /** Row in the file, or number of the result where a file has no rows. */
  readonly row: number;
}
