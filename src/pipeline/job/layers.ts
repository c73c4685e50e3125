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
    tables: z
      .array(
        z.strictObject({
          file: z.string(),
          on: z.string().describe("Attribute of the map that names a row of the table"),
          key: z.string().describe("Column of the table that holds the same names"),
          share: z
            .string()
            .optional()
            .describe("Column with the percent of the map unit a row stands for, where a name has several rows"),
          columns: z.array(z.string()).min(2).optional().describe("Names of the columns of a table without a header"),
        }),
      )
      .default([])
      .describe("Tables that add columns to the map by key, as soil surveys publish them"),
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

const theme = z.enum(["yield", "soil", "terrain", "sensed"]).default("sensed");
const weight = z.number().min(0).optional().describe("Say beside the other layers of its theme; default 1");

const rasterFile = z.strictObject({
  file: z.string(),
  crs,
  label: z.string().describe("What it shows, as in plain words"),
  unit: z.string().default("1").describe("Unit of the values, for people"),
  theme,
  weight,
});

const pointsFile = z.strictObject({
  file: z.string(),
  crs,
  x: z.string().optional().describe("Longitude or easting, for a table"),
  y: z.string().optional().describe("Latitude or northing, for a table"),
  column: z.string().describe("Column or attribute with the values"),
  label: z.string().describe("What was measured, as in plain words"),
  unit: z.string().default("1").describe("Unit of the values, for people"),
  theme,
  weight,
});

export const layersSection = z
  .strictObject({
    cellSize: lengthM("cell size", "5 m").prefault("5 m"),
    mostCells: z.int().min(1).optional().describe("Raises the limit of 4,000,000 cells"),
    yield: z.array(yieldFile).default([]),
    soilMap,
    elevation,
    rasters: z
      .array(rasterFile)
      .default([])
      .describe("GeoTIFF files of anything measured: electrical conductivity, a vegetation index"),
    points: z.array(pointsFile).default([]).describe("Points of anything measured, interpolated to the field"),
  })
  .prefault({});
