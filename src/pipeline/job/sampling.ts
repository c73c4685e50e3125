import {parseDollars} from "../../units/money.ts";
import {areaM2, count, crs, lengthM, matches, quantity, z} from "./shared.ts";
import {takenSection} from "./taken.ts";

/** A drawn thing in a file; only some of the file's features where `only` says so. */
const drawn = {
  file: z.string().describe("GeoJSON, shapefile or GeoPackage"),
  layer: z.string().optional().describe("Which shapefile of a zip"),
  crs,
  only: z
    .array(matches)
    .optional()
    .describe('Takes only the features whose attributes read so, as in {"column": "kind", "is": "gate"}'),
};

const keepOut = z
  .strictObject({
    ...drawn,
    kind: z
      .enum(["gravel road", "waterway", "old farmstead", "manure stack", "tile inlet"])
      .optional()
      .describe("Gives it a name and a usual distance"),
    name: z.string().optional().describe("Name for remarks and maps; default: its kind, or the file"),
    distance: lengthM("distance cores keep from it", "50 ft").optional(),
    cross: z.boolean().optional().describe("False: the crew's way goes round it. Default true"),
  })
  .describe("Polygons, lines or points where no core is taken; its acres still belong to their units");

const repeat = z
  .strictObject({
    units: z.string().describe("GeoJSON of the units of the earlier plan, as this program wrote it"),
    cores: z.string().describe("GeoJSON of its cores"),
  })
  .optional()
  .describe("Samples an earlier plan again: same ids, same places, moved only out of keep-outs");

const duplicates = z.int().min(0).max(99).optional().describe("Units, chosen at random, that get a second bag");

const gate = z
  .union([
    z.strictObject({lon: z.number().describe("Longitude, degrees"), lat: z.number().describe("Latitude, degrees")}),
    z.strictObject(drawn),
  ])
  .optional()
  .describe("Where the crew enters: a place, or a point in a file");

const pace = z
  .strictObject({
    drivingMph: z.number().positive().optional().describe("From bag to bag; default 8, assumed"),
    walkingMph: z.number().positive().optional().describe("From core to core; default 2.7, assumed"),
    secondsPerCore: z.number().positive().optional().describe("Default 15, assumed"),
    secondsPerBag: z.number().positive().optional().describe("Default 60, assumed"),
  })
  .optional()
  .describe("How fast the crew works, for hours and their cost");

const position = z
  .tuple([z.number().min(-180).max(180), z.number().min(-90).max(90)])
  .describe("Longitude and latitude, degrees");

const move = z.strictObject({
  core: z
    .union([
      z.string().regex(/^.+-\d+$/, 'the id of a bag and the number of a core, as in "KFG07-3"'),
      z.strictObject({
        unit: z.string().min(1).describe("Id of its bag"),
        number: count.describe("Its number in the bag"),
      }),
    ])
    .describe('Id of the core as on the crew\'s sheet, as in "KFG07-3"'),
  strategy: z
    .enum(["whole-field", "grid", "zone"])
    .optional()
    .describe("Plan the core is of; only needed where two plans have a bag of that id"),
  from: position
    .optional()
    .describe("Where the plan had put it; when the plan puts it elsewhere, the move is left out and told"),
  to: position.describe("Where it goes: within its own unit and out of keep-outs, or the move is left out and told"),
  reason: z.string().min(1).max(200).optional().describe("Why, for the remarks"),
});

export const samplingSection = z
  .strictObject({
    depth: lengthM("sampling depth", "8 in").prefault("8 in"),
    edge: lengthM("distance cores keep from their unit's edge", "30 ft").optional(),
    fieldEdge: lengthM("distance cores keep from the field's edge, as its headland", "50 ft").optional(),
    coreCvPct: z
      .number()
      .positive()
      .optional()
      .describe("Spread of single cores within a unit, percent of their mean; default 35, assumed"),
    coreCvSource: z.string().optional().describe("Where that number comes from, as in: 12 duplicate bags of 2024"),
    errorPct: z
      .number()
      .positive()
      .max(99)
      .optional()
      .describe("In place of cores: as many as bring a bag within this percent of its mean 19 times in 20"),
    keepOuts: z.array(keepOut).optional().describe("Roads, waterways, old yards: ground where no core is taken"),
    moves: z
      .array(move)
      .optional()
      .describe("Cores put elsewhere by hand, after the plans are made; each keeps its bag and its number"),
    gate,
    route: z
      .strictObject({
        returns: z.boolean().optional().describe("Whether the way ends at the gate; default true"),
        rows: z.number().min(-360).max(360).optional().describe("Direction of the rows, degrees from north"),
        crossing: z.number().min(1).max(20).optional().describe("What a metre across rows costs; default 2 with rows"),
        insideField: z.boolean().optional().describe("Whether the way stays inside the boundary, round its holes"),
      })
      .optional()
      .describe("Numbers the bags along a way that minds rows and obstacles"),
    checkCharacter: z.boolean().optional().describe("Whether ids end in a character that tells most misread ids"),
    wholeField: z
      .strictObject({
        maxArea: areaM2("largest area for one composite", "25 ac").optional(),
        cores: count.optional().describe("Cores in a bag"),
        rate: z
          .enum(["one", "per composite"])
          .default("one")
          .describe("One rate for the mean of the field, or each composite its own"),
        duplicates,
        repeat,
      })
      .prefault({})
      .describe("One composite, or a few, for the whole field"),
    grid: z
      .strictObject({
        cellArea: areaM2("grid cell", "2.5 ac").optional(),
        heading: z.number().min(-360).max(360).optional().describe("Degrees from north; default: the long axis"),
        cores: count.optional().describe("Cores in a bag"),
        pattern: z
          .enum(["cell", "point"])
          .optional()
          .describe("Cores all over the cell, or around its centre; default cell"),
        layout: z
          .enum(["aligned", "staggered", "unaligned"])
          .optional()
          .describe("Staggered: every other lane shifted by half a cell. Unaligned: points at random within cells"),
        lengthToWidth: z
          .number()
          .min(0.1)
          .max(10)
          .optional()
          .describe("Length of a cell along the heading over its width"),
        radius: lengthM("radius of a point's cores", "15 ft").optional(),
        mergeBelow: z.number().min(0).max(1).optional().describe("Share of a cell under which an edge piece is merged"),
        points: z
          .strictObject({
            ...drawn,
            name: z.string().optional().describe("Attribute that names each point"),
            speakFor: z
              .enum(["point", "ground"])
              .optional()
              .describe("Cores near the point (default), or all over the ground nearest to it"),
          })
          .optional()
          .describe("Own points in place of cells; each speaks for the ground nearest to it"),
        duplicates,
        repeat,
      })
      .prefault({})
      .describe("A composite for each cell of a grid"),
    zone: z
      .strictObject({
        maxArea: areaM2("largest area for one composite", "40 ac").optional(),
        cores: count.optional().describe("Cores in a bag"),
        piecesApart: z.boolean().optional().describe("Whether each separate piece of a zone is a unit of its own"),
        placement: z
          .enum(["area", "line"])
          .optional()
          .describe("Cores all over the unit (default), or along one line through it"),
        duplicates,
        repeat,
      })
      .prefault({})
      .describe("A composite for each zone"),
    validation: z
      .strictObject({
        count: z.int().min(4).max(60).optional().describe("Bags; default 12, and 10 to 16 are enough"),
        cores: count.optional().describe("Cores in a bag"),
        radius: lengthM("radius of a bag's cores", "15 ft").optional(),
      })
      .optional()
      .describe("Bags at random places that no strategy uses, to judge the strategies by"),
    budget: z
      .strictObject({
        dollars: quantity(parseDollars, "budget", "800 $").optional(),
        bags: count.optional().describe("Most bags"),
        labour: z.number().positive().optional().describe("Dollars an hour of the crew, in the year of the prices"),
        pace,
      })
      .optional()
      .describe("Finds the plans that fit; needs prices with a year"),
    taken: takenSection,
  })
  .prefault({})
  .describe("Where soil cores are taken: depth, distances, and the plan of each strategy");
