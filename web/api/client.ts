import type {ApiProblem} from "./types.ts";

/** What the server refused, in its words: one sentence, what to do, and where. */
export class Refusal extends Error {
  override readonly name = "Refusal";
  readonly problem: ApiProblem;

  constructor(problem: ApiProblem) {
    super(problem.message);
    this.problem = problem;
  }
}

let token: Promise<string> | undefined;

export async function ask<T>(path: string): Promise<T> {
  return read<T>(await reach(path, {}));
}

/** @param more - Headers beside the usual ones. */
export async function tell<T>(
  method: "POST" | "PUT" | "DELETE",
  path: string,
  body?: unknown,
  more: Readonly<Record<string, string>> = {},
): Promise<T> {
  const headers: Record<string, string> = {"x-loamwright-token": await sessionToken(), ...more};
  if (body !== undefined) headers["content-type"] = "application/json";
  return read<T>(await reach(path, {method, headers, ...(body !== undefined && {body: JSON.stringify(body)})}));
}

/** Hands a file over as it is; the server says what it holds. */
export async function upload<T>(file: File): Promise<T> {
  const headers = {
    "x-loamwright-token": await sessionToken(),
    "x-file-name": encodeURIComponent(file.name),
    "content-type": "application/octet-stream",
  };
  return read<T>(await reach("/api/files", {method: "POST", headers, body: file}));
}

/** The sentence and the advice of anything that went wrong. */
export function problemOf(error: unknown): ApiProblem {
  if (error instanceof Refusal) return error.problem;
  return {
    code: "bench/unexpected",
    message: error instanceof Error ? error.message : String(error),
    hint: "Reload the page. If it happens again, look at what the server printed.",
  };
}

async function reach(path: string, init: RequestInit): Promise<Response> {
  try {
    return await fetch(path, init);
  } catch {
    throw new Refusal({
      code: "bench/no-server",
      message: "The server does not answer.",
      hint: "See that `loamwright serve` is still running, then reload the page.",
    });
  }
}

async function read<T>(response: Response): Promise<T> {
  const text = await response.text();
  const body = text === "" ? undefined : parse(text);
  if (response.ok) return body as T;
  const error = (body as {error?: ApiProblem} | undefined)?.error;
  throw new Refusal(
    error ?? {
      code: `http/${response.status}`,
      message: `The server answered ${response.status} ${response.statusText}.`,
    },
  );
}

function parse(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

function sessionToken(): Promise<string> {
  token ??= ask<{token: string}>("/api/session").then(
    (session) => session.token,
    (error: unknown) => {
      token = undefined;
      throw error;
    },
  );
  return token;
}
