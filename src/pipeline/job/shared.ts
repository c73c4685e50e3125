import {z} from "zod";
import {isFieldError} from "../../errors.ts";
import {parseArea, parseLength, parseRateLbPerAcre} from "../../units/parse.ts";

// What the sections of a job file are made of.

export {z};

/** Text that one of the parsers of `units/` understands; the value inside is in the unit the parser names. */
export function quantity<T>(parse: (text: string, what: string) => T, what: string, example: string) {
  return z
    .string({error: `Write it with its unit, as in "${example}".`})
    .transform((text, context) => {
      try {
        const value = parse(text, what);
        if (typeof value === "number" && value < 0) {
          context.addIssue({code: "custom", message: `"${text}" is less than nothing. Write a ${what} of 0 or more.`});
        }
        return value;
      } catch (error) {
        if (!isFieldError(error)) throw error;
        context.addIssue({code: "custom", message: `${error.message}${error.hint ? ` ${error.hint}` : ""}`});
        return z.NEVER;
      }
    })
    .describe(`${what} with its unit, as in "${example}"`);
}

export const lengthM = (what: string, example: string) => quantity(parseLength, what, example);
export const areaM2 = (what: string, example: string) => quantity(parseArea, what, example);
export const rate = (what: string, example: string) => quantity(parseRateLbPerAcre, what, example);
export const count = z.int().min(1);

export const crs = z
  .string()
  .optional()
  .describe(
    'Coordinate system of the file, as in "EPSG:26916", or "local metres at -86.4, 40.55" for metres about a known point. Only needed where the file does not say.',
  );

/** Rows or features are told by what one of their cells or attributes reads. */
export const matches = z.strictObject({
  column: z.string().describe("Column or attribute"),
  is: z.string().describe("What it reads"),
});

export const vectorFile = z.union([
  z.string(),
  z.strictObject({
    file: z.string().describe("Path of the file, beside or under the job file"),
    layer: z.string().optional().describe("Which layer, where a zip, GeoPackage or task data holds several"),
    crs,
  }),
]);

export const column = z.union([
  z.string().describe('Name of a column; its unit is read from the heading, as in "Flow (lb/s)"'),
  z.strictObject({
    column: z.string().describe("Name of the column"),
    unit: z.string().describe('Its unit, where the heading does not say, as in "lb/s"'),
  }),
]);
