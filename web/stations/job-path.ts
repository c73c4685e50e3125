/** Where a setting stands in a job: keys and, in lists, numbers. */
export type Path = readonly (string | number)[];
export type JobText = Readonly<Record<string, unknown>>;

export function read(job: unknown, path: Path): unknown {
  let at: unknown = job;
  for (const key of path) {
    if (typeof at !== "object" || at === null) return undefined;
    at = (at as Record<string | number, unknown>)[key];
  }
  return at;
}

/** A copy of the job with one setting changed; `undefined` takes it out, and a section left empty with it. */
export function write(job: JobText, path: Path, value: unknown): JobText {
  return (set(job, path, value) ?? {}) as JobText;
}

function set(at: unknown, path: Path, value: unknown): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return value;
  const inside = typeof at === "object" && at !== null ? (at as Record<string | number, unknown>)[key] : undefined;
  const next = set(inside, rest, value);
  if (typeof key === "number") {
    const list = Array.isArray(at) ? [...at] : [];
    if (next === undefined) list.splice(key, 1);
    else list[key] = next;
    return list;
  }
  const {[key]: _, ...others} = (at ?? {}) as Record<string, unknown>;
  if (next !== undefined) return {...(at as object), [key]: next};
  return Object.keys(others).length > 0 ? others : undefined;
}
