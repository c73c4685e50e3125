/** Versions of a job in the order in which they were worked on, and where one stands among them. */
export interface Trail {
  readonly versions: readonly number[];
  readonly at: number;
}

/** Before anything was undone: every version up to the present one. */
export function trailTo(version: number): Trail {
  return {versions: Array.from({length: version}, (_, i) => i + 1), at: version - 1};
}

/** A new version: what had been undone can no longer be redone. */
export function gone(trail: Trail, to: number): Trail {
  if (trail.versions[trail.at] === to) return trail;
  const versions = [...trail.versions.slice(0, trail.at + 1), to];
  return {versions, at: versions.length - 1};
}

/** One back or forth; undefined at the end. */
export function moved(trail: Trail, by: -1 | 1): {trail: Trail; version: number} | undefined {
  const at = trail.at + by;
  const version = trail.versions[at];
  return version === undefined ? undefined : {trail: {...trail, at}, version};
}

export const canUndo = ({at}: Trail): boolean => at > 0;
export const canRedo = ({versions, at}: Trail): boolean => at < versions.length - 1;
