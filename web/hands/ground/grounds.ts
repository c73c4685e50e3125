import type {FieldPage, GroundKind} from "../../api/types.ts";
import {many} from "../../map/scenes.ts";
import type {JobText, Path} from "../../stations/job-path.ts";
import {read} from "../../stations/job-path.ts";
import {say} from "../../units/shown.ts";

/** An entry as the job has it. */
export type Entry = Readonly<Record<string, unknown>>;

const PATHS: Readonly<Record<GroundKind, Path>> = {"keep-out": ["sampling", "keepOuts"], setback: ["setbacks"]};

export const pathOf = (kind: GroundKind, entry?: number): Path =>
  entry === undefined ? PATHS[kind] : [...PATHS[kind], entry];

export function entriesIn(job: JobText | undefined, kind: GroundKind): readonly Entry[] {
  return (read(job, PATHS[kind]) as readonly Entry[] | undefined) ?? [];
}

/** What the job knows of a keep-out or setback beside its file. */
export function settingsOf({file: _file, layer: _layer, crs: _crs, only: _only, ...settings}: Entry): Entry {
  return settings;
}

/** "38.0 ac, 1 keep-out, 2 setbacks" */
export function sayGround({card, job}: FieldPage): string {
  const counts = (["keep-out", "setback"] as const).map((kind) => ({kind, count: entriesIn(job, kind).length}));
  const some = counts.filter(({count}) => count > 0).map(({kind, count}) => many(count, kind));
  return [say(card.acres, "ac"), ...(some.length > 0 ? some : ["boundary, keep-outs, setbacks"])].join(", ");
}

export const nameOf = ({name, kind, file}: Entry): string => String(name ?? kind ?? file);

/** "ditch, 35 ft, nothing goes on" */
export function factsOf({kind, distance, cross, rate, on, name}: Entry): string {
  const share = typeof rate === "object" && rate !== null ? (rate as {share?: number}).share : undefined;
  return [
    ...(kind !== undefined && (name ?? kind) !== kind ? [String(kind)] : []),
    distance === undefined ? "usual distance" : String(distance),
    ...(cross === false ? ["not to be crossed"] : []),
    ...(rate === "zero" ? ["nothing goes on"] : []),
    ...(share !== undefined ? [`${Math.round(100 * share)} % of the rate around`] : []),
    ...(typeof rate === "string" && rate !== "zero" ? [`at most ${rate}`] : []),
    ...(on === false ? ["off"] : []),
  ].join(", ");
}
