import {FieldError, isFieldError} from "../errors.ts";
import {isThreadEnded} from "./thread.ts";

/** Answers that are not 422, by the code of the error. */
const STATUS: Readonly<Record<string, 400 | 403 | 404 | 408 | 409 | 413 | 503>> = {
  "request/not-json": 400,
  "request/not-valid": 400,
  "request/token": 403,
  "request/origin": 403,
  "request/host": 403,
  "request/slow": 408,
  "request/too-large": 413,
  "job/changed": 409,
  "book/field-exists": 409,
  "server/not-found": 404,
  "server/busy": 503,
};

export type ErrorStatus = 400 | 403 | 404 | 408 | 409 | 413 | 422 | 500 | 503;

/** HTTP's word for an error. */
export function statusOf(error: unknown): ErrorStatus {
  if (isFieldError(error)) return STATUS[error.code] ?? 422;
  return isThreadEnded(error) ? 503 : 500;
}

export function notFound(what: string, hint = "It may have been replaced since: load the field again."): FieldError {
  return new FieldError("server/not-found", `There is no ${what}.`, {hint});
}
