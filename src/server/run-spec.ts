import type {RunUpTo} from "./api-types.ts";

/** A name a job uses for a file, and the digest of its bytes. */
export type FileRef = readonly [name: string, sha256: string];

/** Everything a run rests on. The same spec always makes the same result, so a result that is gone is made again. */
export interface RunSpec {
  /** The job as written. */
  readonly job: string;
  /** In the order in which the job names them. */
  readonly files: readonly FileRef[];
  readonly upTo: RunUpTo;
  readonly evidence: boolean;
  /** Of results on the shelf, their id: what is kept of them to be looked at may be taken instead of a run. */
  readonly keptAs?: string;
}

/** Files of a field by name and digest. */
export const refsTo = (files: readonly {readonly name: string; readonly sha256: string}[]): FileRef[] =>
  files.map(({name, sha256}) => [name, sha256] as const);
