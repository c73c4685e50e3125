import {z} from "zod";
import {isFieldError} from "../errors.ts";
import {parsePriceEach, parsePricePerPound} from "../units/money.ts";
import {
  parseArea,
  parseBushelsPerAcre,
  parseLength,
  parsePoundsPerBushel,
  parseRateLbPerAcre,
  parseSeconds,
} from "../units/parse.ts";

// The job file: what a run reads, how, and what to make of it. Quantities are text with a unit ("2.5 ac"), because a
// bare number cannot say whether it is feet or metres. Defaults that carry agronomy name their source where the stage
// that uses them is documented; here stands only what a user may write.

/** Text that one of the parsers of `units/` understands; the value inside is in the unit the parser names. */
function quantity<T>(parse: (text: string, what: string) => T, what: string, example: string) {
  return z
    .string()
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

const lengthM = (what: string, example: string) => quantity(parseLength, what, example);
const areaM2 = (what: string, example: string) => quantity(parseArea, what, example);
const rate = (what: string, example: string) => quantity(parseRateLbPerAcre, what, example);
const count = z.int().min(1);

const crs = z
  .string()
  .optional()
  .describe(
    'Coordinate system of the file, as in "EPSG:26916", or "local metres at -86.4, 40.55" for metres about a known point. Only needed where the file does not say.',
  );

const vectorFile = z.union([
  z.string(),
  z.strictObject({file: z.string(), layer: z.string().optional().describe("Which shapefile of a zip"), crs}),
]);

const column = z.union([
  z.string().describe('Name of a column; its unit is read from the heading, as in "Flow (lb/s)"'),
  z.strictObject({column: z.string(), unit: z.string()}),
]);

const yieldFile = z.strictObject({
  file: z.string(),
  crs,
  crop: z
    .union([z.string(), z.strictObject({column: z.string()})])
    .describe("The crop, or the column that names it where strips of one season differ"),
  season: z
    .union([z.int().min(1900).max(2200), z.strictObject({column: z.string()})])
    .describe("The year of harvest, or the column that holds it where one file holds many"),
  columns: z.strictObject({
    x: z.string().describe("Longitude or easting"),
    y: z.string().describe("Latitude or northing"),
    time: column.optional(),
    flow: column.optional(),
    distance: column.optional(),
    interval: column.optional(),
    swath: column.optional(),
    moisture: column.optional(),
    speed: column.optional(),
    yield: column.optional().describe("Yield as the machine worked it out; used where flow is not logged"),
    header: z.string().optional().describe("Header state; 1, down or on is working"),
    pass: z.string().optional(),
  }),
  delay: z
    .union([z.literal("estimate"), quantity(parseSeconds, "delay", "12 s")])
    .optional()
    .describe('Time from cutting to the sensor, as in "12 s", or "estimate" to find it from neighbouring passes'),
  bushelWeight: quantity(parsePoundsPerBushel, "bushel weight", "56 lb/bu").optional(),
  standardMoisture: z.number().min(0).max(40).optional().describe("Percent, wet basis"),
});

const analyte = z.strictObject({
  analyte: z.enum(["P", "K", "Ca", "Mg", "S", "Zn", "B", "Mn", "Fe", "Cu", "pH", "buffer pH", "OM", "CEC"]),
  column: z.string(),
  unit: z.string(),
  method: z.string().describe('Extractant and detection, as in "mehlich-3 icp"'),
});

const labFile = z.strictObject({
  file: z.string(),
  sampleId: z.string().optional().describe("Column that holds the sample id; not needed where x and y are given"),
  x: z.string().optional().describe("Longitude or easting, where the file itself says where each sample was taken"),
  y: z.string().optional().describe("Latitude or northing"),
  crs,
  only: z
    .array(z.strictObject({column: z.string(), is: z.string()}))
    .default([])
    .describe("Takes only the rows whose cells read so, as of one field in a report on many"),
  depth: lengthM("sampling depth", "8 in").optional().describe("Default: the depth of the sampling plan"),
  analytes: z.array(analyte).min(1),
  decimal: z.enum([".", ","]).default("."),
});

const placesFile = z.strictObject({
  file: z.string(),
  sampleId: z.string().describe("Column or attribute that holds the sample id"),
  x: z.string().optional().describe("Longitude or easting, for a CSV"),
  y: z.string().optional().describe("Latitude or northing, for a CSV"),
  crs,
});

/** What a job file may hold. Unknown keys are refused. */
export const jobSchema = z
  .strictObject({
    $schema: z.string().optional(),
    farm: z.string().optional(),
    seed: z.int().default(1).describe("Any whole number: same input, same seed, same bytes"),
    field: z.strictObject({
      name: z.string().min(1),
      prefix: z
        .string()
        .regex(/^[A-HJ-NP-Z]{1,3}$/, "one to three capital letters, without I and O")
        .optional()
        .describe("Starts every sample id of the field; default: from the name"),
      boundary: vectorFile,
      statedArea: areaM2("stated area", "154 ac")
        .optional()
        .describe("What the grower says the field holds; a difference over 2 % is remarked on"),
    }),
    strategies: z
      .array(z.enum(["whole-field", "grid", "zone"]))
      .min(1)
      .refine((names) => new Set(names).size === names.length, "each strategy once.")
      .default(["whole-field", "grid", "zone"]),
    layers: z
      .strictObject({
        cellSize: lengthM("cell size", "5 m").prefault("5 m"),
        mostCells: z.int().min(1).optional().describe("Raises the limit of 4,000,000 cells"),
        yield: z.array(yieldFile).default([]),
        soilMap: z
          .strictObject({
            file: z.string(),
            layer: z.string().optional(),
            crs,
            class: z.string().describe("Attribute that names the soil map unit"),
            numeric: z
              .array(z.strictObject({column: z.string(), label: z.string(), unit: z.string()}))
              .default([])
              .describe("Numeric attributes that become layers of their own"),
          })
          .optional(),
        elevation: z
          .strictObject({
            file: z.string(),
            crs,
            unit: z.enum(["m", "ft", "us-ft"]).optional().describe("Unit of the heights, where the file does not say"),
            smooth: lengthM("smoothing", "5 m")
              .optional()
              .describe("Smoothing before slope, to quiet furrows and noise"),
          })
          .optional(),
      })
      .prefault({}),
    zones: z
      .strictObject({
        count: z.int().min(1).max(12).default(4),
        minArea: areaM2("smallest zone piece", "2 ac").optional(),
        smoothing: lengthM("smoothing", "15 m").optional(),
        weights: z
          .strictObject({yield: z.number().min(0), soil: z.number().min(0), terrain: z.number().min(0)})
          .partial()
          .default({})
          .describe("Say of each theme; equal by default"),
        restarts: count.default(10),
      })
      .prefault({}),
    sampling: z
      .strictObject({
        depth: lengthM("sampling depth", "8 in").prefault("8 in"),
        edge: lengthM("distance cores keep from their unit's edge", "30 ft").optional(),
        fieldEdge: lengthM("distance cores keep from the field's edge", "50 ft").optional(),
        wholeField: z
          .strictObject({
            maxArea: areaM2("largest area for one composite", "25 ac").optional(),
            cores: count.optional(),
            rate: z.enum(["one", "per composite"]).default("one"),
          })
          .prefault({}),
        grid: z
          .strictObject({
            cellArea: areaM2("grid cell", "2.5 ac").optional(),
            heading: z.number().min(-360).max(360).optional().describe("Degrees from north; default: the long axis"),
            cores: count.optional(),
            pattern: z.enum(["cell", "point"]).optional(),
            mergeBelow: z
              .number()
              .min(0)
              .max(1)
              .optional()
              .describe("Share of a cell under which an edge piece is merged"),
          })
          .prefault({}),
        zone: z
          .strictObject({
            maxArea: areaM2("largest area for one composite", "40 ac").optional(),
            cores: count.optional(),
          })
          .prefault({}),
      })
      .prefault({}),
    lab: z
      .strictObject({
        files: z
          .array(labFile)
          .min(1)
          .superRefine((files, context) => {
            for (const [i, file] of files.entries()) {
              if (file.sampleId === undefined && (file.x === undefined || file.y === undefined)) {
                context.addIssue({code: "custom", path: [i], message: "needs a sampleId column, or x and y."});
              }
            }
          }),
        toPpm: z
          .boolean()
          .default(false)
          .describe("Converts lb/ac and meq/100 g to ppm before the guide is read; each conversion is remarked on"),
        places: placesFile
          .optional()
          .describe(
            "Where samples were taken, when they do not follow the plans of this job: results then go to the unit they lie in",
          ),
      })
      .optional(),
    rates: z
      .strictObject({
        guide: z.string().default("tri-state-2020"),
        crops: z
          .array(
            z.strictObject({
              crop: z.string(),
              year: z.int().optional().describe("Crops of one year share its buildup; default: a year each"),
              yieldGoal: quantity(parseBushelsPerAcre, "yield goal", "195 bu/ac"),
              byZone: z
                .record(
                  z.string().regex(/^\d+$/, "the number of a zone"),
                  quantity(parseBushelsPerAcre, "yield goal", "180 bu/ac"),
                )
                .default({})
                .describe('Yield goals of single zones, for the zone strategy, as in {"1": "170 bu/ac"}'),
            }),
          )
          .min(1)
          .describe("The crops one application serves, in order"),
        rotation: z
          .array(z.string())
          .default([])
          .describe("Other crops of the rotation, which may raise the critical level"),
        buildup: z.boolean().default(true).describe("Whether soils under the critical level are built up"),
        missing: z.enum(["refuse", "zero"]).default("refuse").describe("What to do about a unit without lab results"),
        cecBoundary: z
          .enum(["at most", "below"])
          .optional()
          .describe("Which side of the guide's CEC boundary the boundary itself is on"),
        clampCec: z.boolean().optional().describe("Holds CEC within the range the guide's slope was fitted for"),
        cec: z.number().positive().optional().describe("meq/100 g for the whole field, where the lab gives none"),
        acceptMethod: z
          .strictObject({reason: z.string().min(10)})
          .optional()
          .describe("Runs a guide on tests it was not made for; every table then says: for arithmetic only"),
      })
      .optional(),
    products: z
      .array(
        z.strictObject({
          analysis: z.string().describe('N - P2O5 - K2O, as in "11-52-0"'),
          nutrient: z.enum(["P2O5", "K2O"]),
          name: z.string().optional(),
          price: quantity(parsePricePerPound, "product price", "720 $/ton").optional(),
        }),
      )
      .default([]),
    machine: z
      .strictObject({
        step: rate("rate step", "5 lb/ac").prefault("1 lb/ac"),
        min: rate("smallest rate", "50 lb/ac").prefault("0 lb/ac"),
        max: rate("largest rate", "400 lb/ac").prefault("600 lb/ac"),
        belowMin: z.enum(["zero", "minimum"]).default("zero"),
        outside: rate("rate outside the field", "0 lb/ac").prefault("0 lb/ac"),
      })
      .prefault({}),
    prices: z
      .strictObject({
        year: z.int().min(1900).max(2200),
        lab: quantity((t, w) => parsePriceEach(t, "sample", w), "lab price", "12 $/sample").optional(),
        core: quantity((t, w) => parsePriceEach(t, "core", w), "price of a core", "0.40 $/core").optional(),
        yearsServed: z.number().positive().optional().describe("Years until the field is sampled again"),
        zoneMaking: quantity((t, w) => parsePriceEach(t, "ac", w), "price of zone making", "1 $/ac").optional(),
      })
      .optional(),
    baseline: z.enum(["whole-field", "grid", "zone"]).default("whole-field"),
  })
  .describe("A Loamwright job: one field from raw files to prescriptions and a ledger");

/** The JSON Schema (2020-12) of what a person may write in a job file. */
export function jobJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(jobSchema, {io: "input"});
}

/** A job with every default filled in and every quantity in the unit used inside. */
export type Job = z.output<typeof jobSchema>;
export type YieldFile = Job["layers"]["yield"][number];
export type LabFile = NonNullable<Job["lab"]>["files"][number];
export type PlacesFile = NonNullable<NonNullable<Job["lab"]>["places"]>;
export type ColumnChoice = z.output<typeof column>;
