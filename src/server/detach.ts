import {FieldError} from "../errors.ts";

type Plain = Readonly<Record<string, unknown>>;

/**
 * The job without a file, wherever it stands: entries of lists, sections of their own, and sections that are nothing
 * without it. The file itself stays where files are kept.
 *
 * @param names - Of the file: the same bytes may have come in under several.
 * @throws {FieldError} `detach/boundary`, `detach/guide` for what a job cannot do without, `detach/not-used`.
 */
export function detached(job: Plain, names: readonly string[]): Plain {
  const file = names[0] as string;
  if (names.includes(fileIn((job.field as Plain | undefined)?.boundary))) {
    throw new FieldError("detach/boundary", `${file} is the field's boundary; without one there is no field.`, {
      place: {file},
      hint: "Attach another file as the boundary; it takes this one's place.",
    });
  }
  const {guide} = (job.rates ?? {}) as Plain;
  if (typeof guide === "object" && names.includes(fileIn(guide))) {
    throw new FieldError("detach/guide", `${file} is the guide that rates are worked out by.`, {
      place: {file},
      hint: "Choose another guide at Rates first.",
    });
  }
  const left = without(job, names) as Plain;
  if (JSON.stringify(left) === JSON.stringify(job)) {
    throw new FieldError("detach/not-used", `${file} is not used by this field.`, {place: {file}});
  }
  return left;
}

/** Keys under which a name alone stands for a file; elsewhere a text that reads the same is no file. */
const NAMED_ALONE = ["units", "cores", "edits"];

/** Undefined where nothing is left of it. */
function without(value: unknown, names: readonly string[]): unknown {
  const isGone = (one: unknown): boolean => names.includes(one as string);
  if (Array.isArray(value)) {
    const left = value.map((one) => without(one, names)).filter((one) => one !== undefined);
    return left.length > 0 || value.length === 0 ? left : undefined;
  }
  if (typeof value !== "object" || value === null) return value;
  const section = value as Plain;
  if (isGone(section.file)) return undefined;
  const left = Object.entries(section).flatMap(([key, inside]) => {
    const next =
      NAMED_ALONE.includes(key) && isGone(inside)
        ? undefined
        : key === "files" && Array.isArray(inside)
          ? without(
              inside.filter((one) => !isGone(one)),
              names,
            )
          : without(inside, names);
    return next === undefined ? [] : [[key, next] as const];
  });
  const kept: Plain = Object.fromEntries(left);
  // A section whose files, or whose one of two files, are gone is none.
  const isNothing = (key: string): boolean => kept[key] === undefined || (kept[key] as unknown[]).length === 0;
  return ["files", "units", "cores"].some((key) => key in section && isNothing(key)) ? undefined : kept;
}

const fileIn = (named: unknown): string =>
  String(typeof named === "object" && named !== null ? (named as Plain).file : named);
