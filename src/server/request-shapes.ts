import {z} from "../pipeline/job/shared.ts";

// What may be sent with a request, beside what stands in its address.

export const newField = z.strictObject({
  name: z.string().trim().min(1).max(200),
  farm: z.string().max(200).optional(),
  boundary: z.string(),
});

export const plainObject = z.record(z.string(), z.unknown());

export const attachment = z.strictObject({
  source: z.string(),
  as: z.enum(["yield", "soil map", "elevation", "lab", "raster", "points", "keep-out", "setback", "zones", "boundary"]),
  at: z.int().min(0).optional(),
  settings: plainObject.optional(),
});

export const detachment = z.strictObject({source: z.string()});

export const drawnQuery = z.object({
  kind: z.enum(["keep-out", "setback"]),
  entry: z.coerce.number<string>().int().min(0).max(10_000),
});

export const runRequest = z.strictObject({
  evidence: z.boolean().optional(),
  upTo: z.enum(["plan", "all"]).optional(),
});

export const handOverRequest = z.strictObject({
  files: z.array(z.string().max(300)).max(1000),
  to: z.string().trim().max(200).optional(),
  acknowledged: z.boolean().optional(),
});

const degrees = (most: number) => z.coerce.number<string>().min(-most).max(most);
export const placeQuery = z.object({lon: degrees(180), lat: degrees(90)});

export const pictureQuery = z.object({ramp: z.enum(["blue", "ochre", "grey", "diverging"]).default("blue")});

export const zipQuery = z.object({of: z.enum(["all", "folder"]).default("all")});

const paper = z.enum(["letter", "a4"]).default("letter");
export const samplingQuery = z.object({paper});
export const samplingZipQuery = z.object({paper, of: z.enum(["all", "whole-field", "grid", "zone"]).default("all")});

export const reportQuery = z.object({
  paper,
  kind: z.enum(["field", "record"]).default("field"),
  date: z.string().max(40).optional(),
});

/** Percent-encoded, because a header holds only letters of English. */
export const fileHeader = z.object({"x-file-name": z.string().default("")});

/** The version that was changed. */
export const jobHeader = z.object({
  "x-job-version": z
    .string()
    .regex(/^\d{1,15}$/, "write the version as a whole number")
    .transform(Number)
    .optional(),
});
