import {z} from "../pipeline/job/shared.ts";
import type {Preferences} from "./api-types.ts";
import type {Shelf} from "./shelf.ts";

/** Of a book that has none yet. */
export const USUAL: Preferences = {units: "us"};

const tiles = z.strictObject({
  template: z
    .string()
    .trim()
    .max(500)
    .superRefine((template, context) => {
      const wrong = whatIsWrong(template);
      if (wrong) context.addIssue({code: "custom", message: wrong});
    }),
  attribution: z.string().trim().max(200).default(""),
  maxZoom: z.int().min(1).max(24).default(18),
});

export const preferencesShape = z.strictObject({units: z.enum(["us", "metric"]), tiles: tiles.optional()});

/** The preferences of a shelf, read once. What an older or newer program wrote and this one cannot read is not followed. */
export function preferencesOn(shelf: Shelf): {
  get(): Promise<Preferences>;
  put(wanted: Preferences): Promise<Preferences>;
} {
  let known: Promise<Preferences> | undefined;
  const read = async (): Promise<Preferences> => {
    const found = preferencesShape.safeParse(await shelf.preferences());
    return found.success ? found.data : USUAL;
  };
  const get = (): Promise<Preferences> => {
    known ??= read().catch((error) => {
      known = undefined;
      throw error;
    });
    return known;
  };
  return {
    get,
    put: async (wanted) => {
      await shelf.putPreferences(wanted);
      known = undefined;
      return get();
    },
  };
}

/**
 * What the page may load and from where: from this server alone, and pictures of tiles from the one place its user
 * named, if any.
 */
export function pagePolicy({tiles: background}: Preferences): string {
  const from = background ? ` ${originOf(background.template)}` : "";
  return [
    "default-src 'self'",
    `img-src 'self' data: blob:${from}`,
    ...(from ? [`connect-src 'self'${from}`] : []),
    "style-src 'self' 'unsafe-inline'",
    "worker-src 'self' blob:",
    "object-src 'none'",
    "base-uri 'self'",
    "form-action 'self'",
    "frame-ancestors 'self'",
  ].join("; ");
}

/** Only of a template that has been checked. */
const originOf = (template: string): string => urlOf(template)?.origin as string;

const PARTS = ["{z}", "{x}", "{y}"] as const;
/** Of names and addresses alone: a sign that has a meaning in a policy must never come into one. */
const PLAIN_HOST = /^(?:[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?|\[[0-9a-f:.]+\])$/;
const LOOPBACK = /^(?:localhost|127(?:\.\d{1,3}){3}|\[::1\])$/;

function whatIsWrong(template: string): string | undefined {
  const url = urlOf(template);
  if (!url || !/^https?:\/\//i.test(template))
    return "write a whole address, as in https://tiles.example/{z}/{x}/{y}.png";
  const missing = PARTS.find((part) => !(url.pathname + url.search).includes(inPlaceOf(part)));
  if (missing) return `the address needs ${missing} in its path, once for every tile`;
  if (/[{}]/.test(filled(template))) return "only {z}, {x} and {y} are filled in; write the rest out";
  if (url.username || url.password) return "a name or password in the address is not sent; use a key in its path";
  if (!PLAIN_HOST.test(url.hostname)) return `${JSON.stringify(url.hostname)} is no plain name of a server`;
  if (url.protocol === "http:" && !LOOPBACK.test(url.hostname)) {
    return "http is for this machine alone, as in http://127.0.0.1:8080/{z}/{x}/{y}.png; use https elsewhere";
  }
  return undefined;
}

/** Numbers nobody writes by chance, so that each part is found again where it came to stand. */
const inPlaceOf = (part: (typeof PARTS)[number]): string => `7${PARTS.indexOf(part)}9124`;
const filled = (template: string): string =>
  PARTS.reduce((text, part) => text.replaceAll(part, inPlaceOf(part)), template);

function urlOf(template: string): URL | undefined {
  const text = filled(template);
  return URL.canParse(text) ? new URL(text) : undefined;
}
