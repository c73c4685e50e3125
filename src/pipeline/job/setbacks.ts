import {parseRateLbPerAcre} from "../../units/parse.ts";
import {crs, lengthM, matches, quantity, z} from "./shared.ts";

function parseSetbackRate(text: string, what: string): "zero" | number {
  return text.trim().toLowerCase() === "zero" ? "zero" : parseRateLbPerAcre(text, what);
}

const setback = z.strictObject({
  file: z.string().describe("Polygons, lines or points: GeoJSON, shapefile or GeoPackage"),
  layer: z.string().optional().describe("Which shapefile of a zip"),
  crs,
  only: z
    .array(matches)
    .optional()
    .describe('Takes only the features whose attributes read so, as in {"column": "kind", "is": "surface inlet"}'),
  name: z.string().min(1).describe("Name for remarks and papers"),
  kind: z
    .enum(["ditch", "stream", "surface inlet", "well", "other"])
    .describe("What it is; no kind has a distance of its own"),
  distance: lengthM("distance", "35 ft").describe(
    'Ground within it is set back, as in "35 ft"; "0 ft" for polygons as drawn. Check local code',
  ),
  rate: z
    .union([
      quantity(parseSetbackRate, "rate there", "50 lb/ac"),
      z.strictObject({share: z.number().min(0).max(1).describe("Share of the rate around that still goes on")}),
    ])
    .describe('"zero", a share, or at most so many lb of product an acre. Check local code'),
  products: z.array(z.string()).min(1).optional().describe('Analyses, codes, or "lime"; default: every product'),
  on: z.boolean().default(true).describe("False leaves it out, with a remark"),
});

export const setbacksSection = z
  .array(setback)
  .optional()
  .describe("Ground by water and wells where less goes on or nothing; none is built in, distances are for you to say");
