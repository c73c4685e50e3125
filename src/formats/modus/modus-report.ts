import type {Issue} from "../../errors.ts";
import type {LabRecord} from "../../lab/lab-record.ts";

/** The results of a Modus document in its own words, ready for `lab/read-records`. */
export interface ModusReport {
  readonly records: readonly LabRecord[];
  readonly samples: readonly ModusSample[];
  readonly issues: readonly Issue[];
}

/** One sample as the document names it. */
export interface ModusSample {
  /** The id its records carry. */
  readonly sampleId: string;
  readonly field: string;
  readonly date: string;
  /** First and second number of a point geometry, as written: most files put longitude first, some latitude. */
  readonly point?: readonly [number, number];
}
