/** Where in the user's own data. */
export interface Place {
  readonly file?: string;
  /** 1-based row as a person would count it in the file (the header is row 1). */
  readonly row?: number;
  readonly column?: string;
  readonly featureId?: string;
  readonly lon?: number;
  readonly lat?: number;
}

/** A remark that travels with a result: something doubtful in the input, or a choice the user should know of. */
export interface Issue {
  /** `area/what`, kebab-case. Codes are part of the interface: renaming one is a breaking change. */
  readonly code: string;
  readonly severity: "note" | "warning" | "error";
  /** One sentence in the user's terms, with the offending value in it. */
  readonly message: string;
  readonly place?: Place;
  /** One imperative sentence: what to do about it. */
  readonly hint?: string;
}

/**
 * Bad input or an impossible request: the user can act on it. Bugs stay plain `Error`s.
 *
 * Hosts recognise it by `name` and `code`, never by `instanceof`, because it crosses threads.
 */
export class FieldError extends Error {
  override readonly name = "FieldError";
  readonly code: string;
  readonly place?: Place;
  readonly hint?: string;
  /** Everything else found wrong in the same pass, so that one run tells all. */
  readonly issues: readonly Issue[];

  constructor(
    code: string,
    message: string,
    more: {place?: Place | undefined; hint?: string | undefined; issues?: readonly Issue[]} = {},
  ) {
    super(message);
    this.code = code;
    if (more.place) this.place = more.place;
    if (more.hint) this.hint = more.hint;
    this.issues = more.issues ?? [];
  }
}

/** True for errors the user can act on, also after they crossed a thread as plain data. */
export function isFieldError(error: unknown): error is FieldError {
  return typeof error === "object" && error !== null && (error as {name?: unknown}).name === "FieldError";
}

/** Adds the file (or other place) to a `FieldError` that was thrown deeper down, where the name was not known. */
export function withPlace<T>(place: Place, work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw placed(error, place);
  }
}

/** The same for asynchronous work. */
export async function withPlaceAsync<T>(place: Place, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw placed(error, place);
  }
}

function placed(error: unknown, place: Place): unknown {
  if (!isFieldError(error)) return error;
  return new FieldError(error.code, error.message, {
    place: {...place, ...error.place},
    hint: error.hint,
    issues: error.issues,
  });
}
