import {TERRAIN_FEATURES, TERRAIN_NAMES} from "../../layers/terrain/names.ts";
import {parseMassKg, parsePoundsPerBushel, parseSeconds} from "../../units/parse.ts";
import {areaM2, column, crs, lengthM, quantity, z} from "./shared.ts";

const yieldFile = z.strictObject({
  file: z.string().describe("Yield log: a CSV of records"),
  crs,
  crop: z
    .union([z.string(), z.strictObject({column: z.string().describe("Column that names the crop")})])
    .describe("The crop, or the column that names it where strips of one season differ"),
  season: z
    .union([z.int().min(1900).max(2200), z.strictObject({column: z.string().describe("Column that holds the year")})])
    .describe("The year of harvest, or the column that holds it where one file holds many"),
  columns: z
    .strictObject({
      x: z.string().describe("Longitude or easting"),
      y: z.string().describe("Latitude or northing"),
      time: column.optional().describe("Time of the record"),
      flow: column.optional().describe("Grain per second"),
      mass: column.optional().describe("Grain of each record, where the machine logs that in place of a flow"),
      distance: column.optional().describe("Driven since the record before"),
      interval: column.optional().describe("Time the record covers"),
      swath: column.optional().describe("Width cut"),
      moisture: column.optional().describe("Grain moisture, percent of wet weight"),
      speed: column.optional().describe("Ground speed"),
      yield: column.optional().describe("Yield as the machine worked it out; used where flow is not logged"),
      header: z.string().optional().describe("Header state; 1, down, in or on is working"),
      pass: z.string().optional().describe("Number of the pass, where one is logged"),
      machine: z.string().optional().describe("Number or name of the machine, where several harvested the field"),
    })
    .optional()
    .describe("Which columns hold what; default: told by their headings, where those leave nothing open"),
  delay: z
    .union([z.literal("estimate"), quantity(parseSeconds, "delay", "12 s")])
    .optional()
    .describe('Time from cutting to the sensor, as in "12 s", or "estimate" to find it from neighbouring passes'),
  bushelWeight: quantity(parsePoundsPerBushel, "bushel weight", "56 lb/bu").optional(),
  surface: z
    .enum(["cell mean", "kriged"])
    .optional()
    .describe(
      "A cell is the trimmed mean of its records (default), or their block-kriged mean with the noise taken out",
    ),
  standardMoisture: z.number().min(0).max(40).optional().describe("Percent, wet basis"),
  headerWidth: lengthM("header width", "30 ft").optional().describe('Where the log does not hold it, as in "30 ft"'),
  weighed: quantity(parseMassKg, "weight", "412000 lb")
    .optional()
    .describe("Grain weighed wet for the whole log; its flow is scaled to that"),
  yieldFrom: z
    .enum(["auto", "flow", "given"])
    .optional()
    .describe("Yield worked out from flow, or the given column; default from flow where the log allows it"),
  levelDays: z.boolean().optional().describe("Level the days of one machine with one another; default false"),
  boundaryIsExact: z
    .boolean()
    .optional()
    .describe("The boundary is drawn to the metre: ground outside counts as no crop when widths are worked out"),
  cleanedPoints: z.boolean().optional().describe("Overrides the setting of all logs"),
});

const seasons = z
  .strictObject({
    scale: z
      .enum(["percent of mean", "z-score"])
      .optional()
      .describe("How seasons are made comparable; z-scores give a flat and noisy season an equal say"),
    spread: z.boolean().optional().describe("Make zones from the spread over the seasons too"),
    stability: z
      .boolean()
      .optional()
      .describe("Make zones from stability too: high and stable, low and stable, unstable"),
    unstableAbove: z
      .union([
        z.enum(["median + MAD", "upper quartile"]),
        z.strictObject({cvPct: z.number().positive().describe("Spread over the seasons in percent of a cell's mean")}),
      ])
      .optional()
      .describe("Spread above which ground is unstable; default 30 % of its mean, for z-scores median + MAD"),
    leastSeasons: z.int().min(2).optional().describe("Seasons a cell needs to have a class; default 3"),
  })
  .optional()
  .describe("How the seasons are put together");

const soilMap = z
  .strictObject({
    file: z.string().describe("Polygons of soil map units: GeoJSON, shapefile or GeoPackage"),
    layer: z.string().optional().describe("Which layer, where the file holds several"),
    crs,
    class: z.string().describe("Attribute that names the soil map unit"),
    numeric: z
      .array(
        z.strictObject({
          column: z.string().describe("Attribute, or column of a joined table"),
          label: z.string().describe("What it is, as in plain words"),
          unit: z.string().describe("Unit of the values, for people"),
        }),
      )
      .default([])
      .describe("Numeric attributes that become layers of their own"),
    tables: z
      .array(
        z.strictObject({
          file: z.string().describe("The table: CSV, or text with bars"),
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
  .optional()
  .describe("A soil map, as soil surveys publish it");

const elevation = z
  .strictObject({
    file: z.string().describe("GeoTIFF of heights"),
    crs,
    unit: z.enum(["m", "ft", "us-ft"]).optional().describe("Unit of the heights, where the file does not say"),
    smooth: lengthM("smoothing", "5 m").optional().describe("Smoothing before slope, to quiet furrows and noise"),
    use: z
      .array(z.enum(TERRAIN_FEATURES))
      .min(1)
      .optional()
      .describe("Layers that zones are made from; default relative elevation and slope"),
    show: z
      .array(z.enum(TERRAIN_NAMES))
      .optional()
      .describe("Layers to make beside these, for the layers command to write"),
    margin: lengthM("margin", "200 m")
      .optional()
      .describe("Ground around the field that is looked at; default what the layers need"),
    slope: z
      .enum(["horn", "zevenbergen-thorne", "evans"])
      .optional()
      .describe("How slope and aspect weigh the cells around one; default horn"),
    radii: z
      .strictObject({
        near: lengthM("near radius", "50 m").describe("Near position: against the ground within this"),
        far: lengthM("far radius", "150 m").describe("Far position: against the ground from near to this"),
        relative: lengthM("radius of relative elevation", "75 m").optional(),
      })
      .optional()
      .describe("How far around a place its height is compared with"),
    drainage: z
      .enum(["breach", "fill"])
      .optional()
      .describe("Depressions are opened by the least cut (default; filled where the limits forbid it) or all filled"),
    breach: z
      .strictObject({
        reach: lengthM("reach of a cut", "60 m"),
        depth: lengthM("depth of a cut", "1 m"),
      })
      .optional()
      .describe("How far and how deep a depression may be opened; default 60 m and 1 m"),
    flow: z
      .strictObject({
        method: z
          .enum(["fd8", "quinn", "dinf", "d8"])
          .default("fd8")
          .describe("Shared out among lower cells (fd8, quinn), between two of them (dinf), or all to the steepest"),
        exponent: z.number().min(0.1).max(20).default(1.1).describe("Of fd8: higher draws water together"),
      })
      .optional()
      .describe("How water is led downhill for wetness and catchment area"),
    ponds: z
      .strictObject({
        leastDepth: lengthM("least depth of a pond", "5 cm").prefault("5 cm"),
        leastArea: areaM2("least area of a pond", "100 m2").prefault("100 m2"),
      })
      .optional()
      .describe("Shallower and smaller ones are left out"),
  })
  .optional()
  .describe("Heights of the ground, from which terrain layers are made");

const theme = z
  .enum(["yield", "soil", "terrain", "sensed"])
  .default("sensed")
  .describe("Kind of layer; themes have an equal say in zones unless weighted");
const weight = z.number().min(0).optional().describe("Say beside the other layers of its theme; default 1");

const rasterFile = z.strictObject({
  file: z.string().describe("GeoTIFF"),
  crs,
  label: z.string().describe("What it shows, as in plain words"),
  unit: z.string().default("1").describe("Unit of the values, for people"),
  theme,
  weight,
});

const pointsFile = z.strictObject({
  file: z.string().describe("A table, or a file of point features"),
  crs,
  x: z.string().optional().describe("Longitude or easting, for a table"),
  y: z.string().optional().describe("Latitude or northing, for a table"),
  column: z.string().describe("Column or attribute with the values"),
  label: z.string().describe("What was measured, as in plain words"),
  unit: z.string().default("1").describe("Unit of the values, for people"),
  method: z
    .enum(["auto", "kriging", "inverse distance", "nearest", "mean"])
    .default("auto")
    .describe("How ground between points is told; auto takes what tells left-out points best, and says why"),
  theme,
  weight,
});

export const layersSection = z
  .strictObject({
    cellSize: lengthM("cell size", "5 m").prefault("5 m"),
    mostCells: z.int().min(1).optional().describe("Raises the limit of 4,000,000 cells"),
    yield: z.array(yieldFile).default([]).describe("Yield logs, a file each"),
    cleanedPoints: z
      .boolean()
      .optional()
      .describe("Write every record of the yield logs with its reason, as CSV and GeoJSON"),
    seasons,
    soilMap,
    elevation,
    rasters: z
      .array(rasterFile)
      .default([])
      .describe("GeoTIFF files of anything measured: electrical conductivity, a vegetation index"),
    points: z.array(pointsFile).default([]).describe("Points of anything measured, interpolated to the field"),
  })
  .prefault({})
  .describe("What is known of the ground: yield, soil map, heights, anything measured. Zones are made from it");
