import {parsePoundsPerBushel, parseSeconds} from "../../units/parse.ts";
import {column, crs, lengthM, quantity, z} from "./shared.ts";

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

const soilMap = z
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
  .optional();
const elevation = z
  .strictObject({
    file: z.string(),
    crs,
    unit: z.enum(["m", "ft", "us-ft"]).optional().describe("Unit of the heights, where the file does not say"),
    smooth: lengthM("smoothing", "5 m").optional().describe("Smoothing before slope, to quiet furrows and noise"),
  })
  .optional();

export const layersSection = z
  .strictObject({
    cellSize: lengthM("cell size", "5 m").prefault("5 m"),
    mostCells: z.int().min(1).optional().describe("Raises the limit of 4,000,000 cells"),
    yield: z.array(yieldFile).default([]),
    soilMap,
    elevation,
  })
  .prefault({});
