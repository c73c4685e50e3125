import {type ClientResponse, hc} from "hono/client";
import type {Routes} from "../../src/server/routes.ts";
import {NO_SERVER, noAnswer} from "./away.ts";
import type {ApiProblem, SourceCard} from "./types.ts";

// The server's addresses, each with what it is sent and what it answers as the server's own code has it:
//
//   const page = await got(api.fields[":id"].$get({param: {id}}));
//   const href = api.results[":id"].report.$path({param: {id}, query: {paper: "a4"}});
//
// A wrong address, body or answer does not compile.

/** Every address of the server. The parts of an address are given as they are, and encoded here. */
export const api = encoding(hc<Routes>("/", {fetch: reach})).api;

/**
 * What the server answered.
 *
 * @throws {Refusal} in the server's words.
 */
export async function got<Answer>(asked: Promise<ClientResponse<Answer, number, "json">>): Promise<Answer> {
  return read<Answer>(await asked);
}

/** Hands a file over as it is; the server says what it holds. */
export function upload(file: File): Promise<SourceCard> {
  return got(api.files.$post({header: {"x-file-name": encodeURIComponent(file.name)}}, {init: {body: file}}));
}

/** What the server refused, in its words: one sentence, what to do, and where. */
export class Refusal extends Error {
  override readonly name = "Refusal";
  readonly problem: ApiProblem;

  constructor(problem: ApiProblem) {
    super(problem.message);
    this.problem = problem;
  }
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

/** Hono's client puts the parts of an address in as they are. */
function encoding<Client extends object>(client: Client): Client {
  return new Proxy(client, {
    get: (inner, key) => encoding(Reflect.get(inner, key) as object),
    apply: (inner, self, [args, ...more]) =>
      Reflect.apply(inner as () => unknown, self, [
        args?.param ? {...args, param: encoded(args.param)} : args,
        ...more,
      ]),
  });
}

const encoded = (param: Readonly<Record<string, string>>): Record<string, string> =>
  Object.fromEntries(Object.entries(param).map(([name, part]) => [name, encodeURIComponent(part)]));

/** With the session's token where something is to change. A server that was started again has another token. */
async function reach(path: string | URL | Request, init: RequestInit = {}): Promise<Response> {
  if (init.method === "GET") return fetched(path, init);
  const used = sessionToken();
  const response = await fetched(path, withToken(init, await used));
  if (response.status !== 403) return response;
  if (token === used) token = undefined;
  return fetched(path, withToken(init, await sessionToken()));
}

function withToken(init: RequestInit, token: string): RequestInit {
  const headers = new Headers(init.headers);
  headers.set("x-loamwright-token", token);
  return {...init, headers};
}

async function fetched(path: string | URL | Request, init: RequestInit): Promise<Response> {
  try {
    return await fetch(path, init);
  } catch {
    noAnswer();
    throw new Refusal({
      code: NO_SERVER,
      message: "The server does not answer.",
      hint: "See that `loamwright serve` is still running, then try again.",
    });
  }
}

async function read<Answer>(response: Pick<Response, "ok" | "status" | "statusText" | "text">): Promise<Answer> {
  const text = await response.text();
  const body = text === "" ? undefined : parse(text);
  if (response.ok) return body as Answer;
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

let token: Promise<string> | undefined;

function sessionToken(): Promise<string> {
  token ??= got(api.session.$get()).then(
    (session) => session.token,
    (error: unknown) => {
      token = undefined;
      throw error;
    },
  );
  return token;
}
