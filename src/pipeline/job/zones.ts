import {parseSeconds, parseSpeed} from "../../units/parse.ts";
import {areaM2, count, crs, lengthM, quantity, z} from "./shared.ts";

const position = z
  .tuple([z.number().min(-180).max(180), z.number().min(-90).max(90)])
  .describe("Longitude and latitude, degrees");
const polygon = z
  .array(z.array(position).min(3))
  .min(1)
  .describe("Rings of longitudes and latitudes, the outer one first, as in GeoJSON");
const place = z
  .strictObject({
    at: position.describe("Longitude and latitude of a point well inside the zone"),
    zone: z
      .int()
      .min(1)
      .optional()
      .describe("Its number on the map that the edits before make; when another zone lies there, the edit is left out"),
  })
  .describe("The zone that lies at a place");
const name = z.string().min(1).max(60).describe("Name of the zone");

/** One change by hand to a zone map. */
export const zoneEdit = z
  .discriminatedUnion("edit", [
    z.strictObject({
      edit: z.literal("merge").describe("Makes one zone of several"),
      zones: z.array(place).min(2).describe("Become one, with the number and name of the first"),
    }),
    z
      .strictObject({
        edit: z.literal("split").describe("Makes several zones of one"),
        zone: place,
        line: z.array(position).min(2).optional().describe("Cuts the zone; the smaller side becomes a new one"),
        parts: z.int().min(2).max(12).optional().describe("Divides the zone into so many kinds of ground instead"),
        name: name.optional().describe("Of the new zone, when cut by a line"),
      })
      .superRefine(({line, parts}, context) => {
        if ((line === undefined) === (parts === undefined)) {
          context.addIssue({code: "custom", message: "needs a line, or a number of parts, and not both."});
        }
      }),
    z.strictObject({
      edit: z.literal("assign").describe("Gives ground to a zone"),
      polygon: polygon.describe("Ground that goes to the zone"),
      to: place,
    }),
    z.strictObject({edit: z.literal("rename").describe("Gives a zone a name"), zone: place, name}),
    z.strictObject({
      edit: z.literal("pin").describe("Keeps drawn ground as a zone"),
      polygon: polygon.describe("Ground that is a zone of its own, whatever zones are made around it"),
      name: name.optional(),
    }),
  ])
  .describe("One change by hand; edits are made in order, and leaving the last out undoes it");

export const zoneEdits = z.array(zoneEdit);

const follow = z.strictObject({
  swath: lengthM("swath", "100 ft").optional(),
  speed: quantity(parseSpeed, "speed", "15 mph").optional(),
  rateChange: quantity(parseSeconds, "time of a rate change", "4 s").optional(),
});

export const zonesSection = z
  .strictObject({
    count: z
      .union([z.int().min(1).max(12), z.literal("choose")])
      .default(4)
      .describe('Zones wanted, or "choose": the number that explains layers kept back and is worth its sampling'),
    mostToTry: z.int().min(2).max(12).optional().describe("Most zones that choosing tries; default 8"),
    samplingBudget: z.number().min(0).optional().describe("Most dollars for one round of sampling, when choosing"),
    method: z.enum(["k-means", "fuzzy c-means"]).optional().describe("How kinds of ground are found; default k-means"),
    scale: z
      .enum(["clipped", "robust"])
      .optional()
      .describe("How layers of different units are made comparable; robust is for layers with long tails"),
    principalComponents: z
      .number()
      .gt(0)
      .max(1)
      .optional()
      .describe(
        "Share of the layers' variance that principal components keep, as in 0.9; default: the layers themselves",
      ),
    dropNoise: z.boolean().optional().describe("Leaves out layers that show no pattern; default true"),
    minArea: areaM2("smallest zone piece", "2 ac").optional(),
    minWidth: z
      .union([lengthM("least zone width", "100 ft"), follow])
      .optional()
      .describe("Least width of a zone, or what the machine needs to follow it; default none"),
    calm: z
      .number()
      .min(0)
      .max(1)
      .optional()
      .describe("Share of the variance explained that a piece may cost to be merged away; default 0"),
    smoothing: lengthM("smoothing", "15 m").optional(),
    weights: z
      .strictObject({
        yield: z.number().min(0).describe("Say of the yield layers"),
        soil: z.number().min(0).describe("Say of the soil map"),
        terrain: z.number().min(0).describe("Say of the terrain layers"),
        sensed: z.number().min(0).describe("Say of rasters and points measured on the ground or from above"),
      })
      .partial()
      .default({})
      .describe("Say of each theme; equal by default"),
    restarts: count.default(10).describe("Times the search for zones starts anew; the best is kept"),
    judge: z
      .boolean()
      .optional()
      .describe("Judges the zones by yield seasons and soil tests kept back, and writes zones.json"),
    edits: z
      .union([z.string().describe("A JSON file with the list"), zoneEdits])
      .optional()
      .describe("Changes by hand, made in order to the zones as built"),
    import: z
      .strictObject({
        file: z.string().describe("Polygons: GeoJSON, shapefile, GeoPackage or task data"),
        layer: z.string().optional().describe("Which shapefile of a zip"),
        crs,
        zone: z.string().optional().describe("Attribute that names the zone; default: every polygon is one"),
      })
      .optional()
      .describe("A zone map drawn elsewhere, taken instead of building one"),
  })
  .prefault({})
  .describe("How management zones are made from the layers");
