import type {Context, TypedResponse} from "hono";
import type {ContentfulStatusCode} from "hono/utils/http-status";
import type {z} from "../pipeline/job/shared.ts";
import {type BodyLimits, checked, jsonOf} from "./body.ts";
import {sendingInPieces} from "./pieces.ts";

// How routes read what they are sent and write what they answer, so that both stand in the type of the route.

/** Something of a request, checked: before it is, as a client sends it, and after, as the route gets it. */
export type Reads<Part extends string, Shape extends z.ZodType, Path extends string> = (
  c: Context<object, Path, {in: Record<Part, z.input<Shape>>; out: Record<Part, z.output<Shape>>}>,
  next: () => Promise<void>,
) => Promise<void>;

/** A JSON body. @throws {FieldError} those of `jsonOf`, when it is read. */
export function jsonReader(limits: BodyLimits) {
  return <Shape extends z.ZodType<object>, Path extends string>(shape: Shape): Reads<"json", Shape, Path> =>
    async (c, next) => {
      c.req.addValidatedData("json", await jsonOf(c.req.raw, shape, limits));
      await next();
    };
}

/** What stands behind the ? of the address. @throws {FieldError} `request/not-valid`, when it is read. */
export function query<Shape extends z.ZodType<object>, Path extends string>(shape: Shape): Reads<"query", Shape, Path> {
  return async (c, next) => {
    c.req.addValidatedData("query", checked(c.req.query(), shape, "the address"));
    await next();
  };
}

/** @throws {FieldError} `request/not-valid`, when they are read. */
export function headers<Shape extends z.ZodType<object>, Path extends string>(
  shape: Shape,
): Reads<"header", Shape, Path> {
  return async (c, next) => {
    c.req.addValidatedData("header", checked(c.req.header(), shape, "the headers"));
    await next();
  };
}

type Answer<Value, Status extends ContentfulStatusCode> = Response & TypedResponse<Value, Status, "json">;

/** JSON. Its type is that of the value as it stands: everything in `api-types.ts` is plain. */
export function json<Value, Status extends ContentfulStatusCode = 200>(
  c: Context,
  value: Value,
  status?: Status,
): Answer<Value, Status> {
  return c.json(value as object, status) as Answer<Value, Status>;
}

/** JSON that is written already, as shapes are. */
export function written<Value>(c: Context, bytes: Uint8Array, type: string): Answer<Value, 200> {
  return sent(c, bytes, type) as Answer<Value, 200>;
}

export function sent(c: Context, bytes: Uint8Array, type: string): Response {
  c.header("content-type", type);
  c.header("content-length", String(bytes.length));
  // Who asks for the head alone holds no bytes back.
  return c.req.method === "HEAD" ? c.body(null) : c.body(sending(bytes));
}

/** Of the whole process, whoever reads. */
const sending = sendingInPieces(2 ** 29);
