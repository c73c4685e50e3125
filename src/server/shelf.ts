import type {Comparison} from "../compare/comparison.ts";
import type {Field} from "../geo/field.ts";
import type {LonLatMultiPolygon} from "../geo/shapes.ts";
import type {FieldLayers} from "../pipeline/make-layers.ts";
import type {StrategyRun} from "../pipeline/run.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import type {HandOverCard} from "./api-types.ts";
import type {FileRef} from "./run-spec.ts";

/** A file of a field. */
export interface ShelfFile {
  readonly name: string;
  readonly sha256: string;
  readonly bytes: number;
}

/** The results in force, and what they were made from. */
export interface ShelfRun {
  readonly id: string;
  /** Version of the job it was made from. */
  readonly version: number;
  readonly madeAt: string;
  /** Version of the program. */
  readonly program: string;
  readonly job: string;
  /** Of the field, as they were then: those the job reads, and others. */
  readonly files: readonly FileRef[];
}

/** A field as it lies on the shelf. */
export interface ShelfField {
  readonly id: string;
  readonly name: string;
  readonly farm: string;
  readonly acres: number;
  readonly outline: LonLatMultiPolygon;
  /** The job in force, as written. */
  readonly job: string;
  /** Of the job; counts from 1. */
  readonly version: number;
  /** Everything put in, in its present version, by name. */
  readonly files: readonly ShelfFile[];
  readonly run?: ShelfRun;
  /** The latest first; as many as anyone looks back. */
  readonly handOvers: readonly HandOverCard[];
}

/** What was handed over; when and by whom the shelf knows. */
export type HandOverToKeep = Omit<HandOverCard, "at" | "who" | "inForce">;

/** What a run came to, as far as it is kept. */
export interface RunToKeep {
  readonly field: Field;
  readonly layers?: Pick<FieldLayers, "features">;
  readonly zoneMap?: ZoneMap;
  readonly strategies: readonly StrategyRun[];
  readonly comparison: Comparison;
  readonly outputs: ReadonlyMap<string, Uint8Array>;
}

/** See `packView`. */
export interface KeptView {
  readonly madeBy: string;
  /** JSON. */
  readonly card: string;
  readonly packed: Uint8Array;
}

export interface JobToKeep {
  /** As written. */
  readonly job: string;
  readonly field: Field;
  /** Files that are new to the field. */
  readonly add: ReadonlyMap<string, Uint8Array>;
}

/**
 * Where fields, their files, the versions of their jobs and their results are kept. Nothing of it is a path: fields have
 * ids, files have names within their field.
 */
export interface Shelf {
  /** Of the book, without its folder. */
  readonly name: string;
  list(): Promise<readonly ShelfField[]>;
  field(id: string): Promise<ShelfField | undefined>;
  /** @throws {FieldError} `book/field-exists` when the farm has a field of that name. */
  addField(given: JobToKeep): Promise<ShelfField>;
  /** A new version of the job, with its new files; the same text again puts the version that had it in force again. */
  putJob(id: string, given: JobToKeep): Promise<ShelfField>;
  /** A version of the job, as written; undefined where there is none. */
  jobAt(id: string, version: number): Promise<string | undefined>;
  /** Puts results in force. */
  keepRun(id: string, run: RunToKeep, job: string, files: readonly FileRef[]): Promise<ShelfRun>;
  /** Adds to the log that files of a run were handed over. */
  keepHandOver(id: string, runId: string, given: HandOverToKeep): Promise<void>;
  /** What is looked at of the results in force, so that nothing has to run before they are seen again. */
  keepView(runId: string, view: KeptView): Promise<void>;
  /** The card of a kept view; undefined where none was kept in that form. */
  cardOf(runId: string, madeBy: string): Promise<string | undefined>;
  /** The rest of it, packed. */
  viewOf(runId: string, madeBy: string): Promise<Uint8Array | undefined>;
  /** What files of the shelf hold, as it was once seen under their names; in their order, undefined where it was not. */
  looks(files: readonly FileRef[], madeBy: string): Promise<readonly (string | undefined)[]>;
  keepLook(file: FileRef, madeBy: string, card: string): Promise<void>;
  /** A copy of a file by its digest; undefined where none is on the shelf. */
  bytes(sha256: string): Promise<Uint8Array | undefined>;
  /** A file that a run wrote. */
  resultFile(runId: string, name: string): Promise<Uint8Array | undefined>;
  /** What is noted about the whole shelf under a name; undefined where nothing is. */
  fact(name: string): Promise<string | undefined>;
  noteFact(name: string, value: string): Promise<void>;
  /** What `putPreferences` was last given; undefined before. */
  preferences(): Promise<unknown>;
  putPreferences(preferences: object): Promise<void>;
  close(): Promise<void>;
}
