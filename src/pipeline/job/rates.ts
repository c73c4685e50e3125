import {parseManureAmount, parseManureContent} from "../../units/manure.ts";
import {parsePricePerPound} from "../../units/money.ts";
import {parseYieldGoal} from "../../units/parse.ts";
import {count, quantity, rate, z} from "./shared.ts";

const yieldGoal = quantity(parseYieldGoal, "yield goal", "195 bu/ac");
const nutrient = z.enum(["P2O5", "K2O"]).describe("The nutrient, as the oxide");

const crop = z.strictObject({
  crop: z.string().describe('A crop of the guide, as in "corn"'),
  year: z.int().optional().describe("Crops of one year share its buildup; default: a year each"),
  yieldGoal,
  byZone: z
    .record(z.string().regex(/^\d+$/, "the number of a zone"), yieldGoal)
    .default({})
    .describe('Yield goals of single zones, for the zone strategy, as in {"1": "170 bu/ac"}'),
  byUnit: z
    .record(z.string(), yieldGoal)
    .default({})
    .describe("Yield goals of single sampling units by sample id; go before those of zones"),
});

const credit = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("manure").describe("Worked out from amount and content"),
    nutrient,
    amount: quantity(parseManureAmount, "amount of manure", "4000 gal/ac"),
    content: quantity(parseManureContent, "content of manure", "42 lb/1000 gal"),
    availablePct: z
      .number()
      .min(0)
      .max(100)
      .describe("Share that crops can use; published shares of P run from 50 to 100"),
  }),
  z.strictObject({
    kind: z.enum(["starter", "previous application", "other"]).describe("Given in pounds"),
    nutrient,
    rate: rate("credit", "20 lb/ac").optional().describe("Pounds of oxide that count, everywhere"),
    byUnit: z.record(z.string(), rate("credit", "20 lb/ac")).optional().describe("Or by sample id"),
    text: z.string().min(3).describe("How it came about; stands in the working"),
  }),
]);

const limits = z.strictObject({
  min: rate("smallest rate", "20 lb/ac").optional(),
  max: rate("largest rate", "100 lb/ac").optional(),
  belowMin: z
    .enum(["zero", "minimum"])
    .default("zero")
    .describe("What becomes of a rate above zero and below the smallest"),
});

const policy = z
  .strictObject({
    bandFactor: z.number().min(0.5).max(1).optional().describe("Share of the buildup that a band needs"),
    credits: z.array(credit).default([]).describe("Nutrients that come from elsewhere; each a line of the working"),
    limits: z
      .strictObject({P2O5: limits.optional().describe("Of phosphate"), K2O: limits.optional().describe("Of potash")})
      .default({})
      .describe("Smallest and largest rates of nutrient, before products and machine"),
    overrides: z
      .array(
        z.strictObject({
          unit: z.string().describe('Sample id, or "whole field"'),
          nutrient,
          rate: rate("rate", "60 lb/ac"),
          reason: z.string().min(10).describe("Repeated wherever the rate is shown"),
        }),
      )
      .default([])
      .describe("Rates set against the guide"),
  })
  .prefault({})
  .describe("Your own rules on top of the guide, in this order: band, credits, limits, overrides");

export const ratesSection = z
  .strictObject({
    guide: z
      .union([z.string(), z.strictObject({file: z.string().describe("The guide's data file (JSON)")})])
      .default("tri-state-2020")
      .describe("A guide of docs/guides by its name, or your own as a data file (docs/guides/your-own.md)"),
    state: z
      .string()
      .regex(/^[A-Za-z]{2}$/, "two letters, as in IN")
      .optional()
      .describe(
        "Two letters: a guide made for other states is refused, and the state's phosphorus limits are looked at",
      ),
    crops: z.array(crop).min(1).describe("The crops one application serves, in order"),
    goals: z
      .enum(["as given", "from yield history"])
      .default("as given")
      .describe("Whether units get the field's goal in proportion to their share of the field's mean yield"),
    rotation: z
      .array(z.string())
      .default([])
      .describe("Other crops of the rotation, which may raise the critical level"),
    previousCrop: z.string().optional().describe("The crop before the first one served, where the guide asks for it"),
    buildup: z.boolean().default(true).describe("Whether soils under the critical level are built up"),
    buildupYears: count.optional().describe("Years to build up over; default: the guide's own"),
    soilGroup: z.string().optional().describe("One of the guide's soil groups, where it has them"),
    removalSet: z.string().optional().describe("One of the guide's other sets of crop removal, where it has them"),
    removal: z
      .record(
        z.string(),
        z.strictObject({
          P2O5: z.number().min(0).optional().describe("lb of P2O5 per bushel or ton"),
          K2O: z.number().min(0).optional().describe("lb of K2O per bushel or ton"),
        }),
      )
      .optional()
      .describe("Your own lb of oxide per bushel or ton, by crop"),
    missing: z
      .enum(["refuse", "zero", "leave out"])
      .default("refuse")
      .describe(
        "What to do about a unit without a test: stop, spread nothing there and say so, or leave its plan without rates and compare the others",
      ),
    cecBoundary: z
      .enum(["at most", "below"])
      .optional()
      .describe("Which side of the guide's CEC boundary the boundary itself is on"),
    clampCec: z.boolean().optional().describe("Holds CEC within the range the guide's slope was fitted for"),
    cec: z.number().positive().optional().describe("meq/100 g for the whole field, where the lab gives none"),
    convertMethod: z
      .union([z.literal(true), z.string()])
      .optional()
      .describe(
        "Converts a test of another method by a published relation the guide allows: true, or the relation's name",
      ),
    acceptMethod: z
      .strictObject({reason: z.string().min(10).describe("Why; repeated wherever a rate is shown")})
      .optional()
      .describe("Runs a guide on tests it was not made for; every table then says: for arithmetic only"),
    policy,
    between: z
      .enum(["units", "interpolated"])
      .optional()
      .describe("Whether every unit gets one rate, or tests are interpolated and rates follow; default units"),
    blend: z
      .union([
        z.literal(true),
        z.strictObject({nitrogen: quantity(parsePricePerPound, "worth of nitrogen", "0.50 $/lb")}),
      ])
      .optional()
      .describe("Mixes the products so that each unit's nutrients are met exactly at least cost"),
  })
  .optional()
  .describe("The guide, the crops and your rules: what each unit is due");

export const productsSection = z
  .array(
    z.strictObject({
      analysis: z.string().describe('N - P2O5 - K2O, as in "11-52-0"'),
      nutrient: nutrient.describe("What it is spread for"),
      name: z.string().optional().describe("Trade name, for papers; default: the analysis"),
      price: quantity(parsePricePerPound, "product price", "720 $/ton").optional(),
    }),
  )
  .default([])
  .describe("What is spread; each product meets one nutrient, or all are mixed (rates.blend)");
