import type {Feature} from "geojson";
import type {Strategy} from "../../api/types.ts";
import {page, result} from "../../state/field.ts";
import {shapesOf} from "../../state/shapes.ts";
import {type JobText, read, write} from "../../stations/job-path.ts";

export type LonLat = readonly [number, number];

/** A core as the plan on show has it. */
export interface SeenCore {
  /** As on the crew's sheet, as in KFG07-3. */
  readonly id: string;
  readonly bag: string;
  readonly at: LonLat;
}

/** A move as the job has it. */
export interface Move {
  readonly core: string | {readonly unit: string; readonly number: number};
  readonly strategy?: Strategy;
  readonly from?: LonLat;
  readonly to: LonLat;
  readonly reason?: string;
}

const PATH = ["sampling", "moves"] as const;

export const movesIn = (job: JobText | undefined): readonly Move[] =>
  (read(job, PATH) as readonly Move[] | undefined) ?? [];

export const coreOf = ({core}: Move): string => (typeof core === "string" ? core : `${core.unit}-${core.number}`);

/** The cores of a plan in the order of the walk, second bags' too; empty until they have come. */
export function coresOf(strategy: Strategy): readonly SeenCore[] {
  const made = result.value;
  const name = `plan-${strategy}-cores`;
  const found = made?.shapes.includes(name) ? shapesOf(made.id, name) : undefined;
  return (found?.features ?? []).flatMap((feature) => seenCore(feature) ?? []);
}

/** The job with cores elsewhere; one that was moved before goes on from where the plan had put it. */
export function jobWith(
  job: JobText,
  strategy: Strategy,
  moved: readonly (SeenCore & {readonly to: LonLat})[],
): JobText {
  let moves = movesIn(job);
  const outcomes = result.peek()?.version === page.peek()?.version ? (result.peek()?.moves ?? []) : [];
  for (const {id, at, to} of moved) {
    const i = moves.findIndex((move) => coreOf(move) === id && (move.strategy ?? strategy) === strategy);
    const before = moves[i];
    // A move that was left out has the core where the plan has it now.
    const from = before && outcomes[i]?.applied !== false ? (before.from ?? at) : at;
    const next: Move = {core: id, strategy, from, to, ...(before?.reason !== undefined && {reason: before.reason})};
    moves = before ? moves.with(i, next) : [...moves, next];
  }
  return write(job, PATH, moves);
}

export function jobWithout(job: JobText, at: number): JobText {
  const rest = movesIn(job).filter((_, i) => i !== at);
  return write(job, PATH, rest.length > 0 ? rest : undefined);
}

export function jobWithReason(job: JobText, at: number, reason: string): JobText {
  return write(job, [...PATH, at, "reason"], reason === "" ? undefined : reason);
}

function seenCore({id, geometry, properties}: Feature): SeenCore | undefined {
  if (geometry.type !== "Point") return undefined;
  const [lon = 0, lat = 0] = geometry.coordinates;
  return {id: String(id), bag: String(properties?.sample), at: [lon, lat]};
}
