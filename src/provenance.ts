/** Enough to rebuild a result: what was done, by which version, to which inputs, with which options. */
export interface Provenance {
  /** Stage and step, as in `layers/yield`. */
  readonly step: string;
  /** Names of the inputs (files or ids of earlier results). Hashes stand in the run record. */
  readonly inputs: readonly string[];
  /** Fully resolved, defaults included. */
  readonly options: Readonly<Record<string, unknown>>;
  readonly seed?: number;
  /** What was found on the way, for who judges the result: counts, statistics, curves. */
  readonly found?: Readonly<Record<string, unknown>>;
}
