import {asAppliedSection} from "./job/as-applied.ts";
import {compareSection} from "./job/compare.ts";
import {handOverSection} from "./job/hand-over.ts";
import {labSection} from "./job/lab.ts";
import {layersSection} from "./job/layers.ts";
import {limeSection} from "./job/lime.ts";
import {machineSection} from "./job/machine.ts";
import {pricesSection} from "./job/prices.ts";
import {productsSection, ratesSection} from "./job/rates.ts";
import {samplingSection} from "./job/sampling.ts";
import {setbacksSection} from "./job/setbacks.ts";
import {areaM2, type column, vectorFile, z} from "./job/shared.ts";
import {zonesSection} from "./job/zones.ts";

// The job file: what a run reads, how, and what to make of it. Quantities are text with a unit ("2.5 ac"), because a
// bare number cannot say whether it is feet or metres. Defaults that carry agronomy name their source where the stage
// that uses them is documented; here stands only what a user may write.

/** What a job file may hold. Unknown keys are refused. */
export const jobSchema = z
  .strictObject({
    $schema: z.string().optional(),
    farm: z.string().optional().describe("Name of the farm, for papers and terminals"),
    seed: z.int().default(1).describe("Any whole number: same input, same seed, same bytes"),
    field: z
      .strictObject({
        name: z.string().min(1).describe("Name of the field; stands on every paper and file"),
        prefix: z
          .string()
          .regex(/^[A-HJ-NP-Z]{1,3}$/, "one to three capital letters, without I and O")
          .optional()
          .describe("Starts every sample id of the field; default: from the name"),
        boundary: vectorFile.describe("Polygon of the field: GeoJSON, shapefile, GeoPackage or task data"),
        statedArea: areaM2("stated area", "154 ac")
          .optional()
          .describe("What the grower says the field holds; a difference over 2 % is remarked on"),
      })
      .describe("The field: its name and its boundary"),
    strategies: z
      .array(z.enum(["whole-field", "grid", "zone"]))
      .min(1)
      .refine((names) => new Set(names).size === names.length, "each strategy once.")
      .default(["whole-field", "grid", "zone"])
      .describe("Ways of sampling to plan, rate and compare"),
    layers: layersSection,
    zones: zonesSection,
    sampling: samplingSection,
    lab: labSection,
    rates: ratesSection,
    lime: limeSection,
    products: productsSection,
    machine: machineSection,
    setbacks: setbacksSection,
    handOver: handOverSection,
    prices: pricesSection,
    compare: compareSection,
    asApplied: asAppliedSection,
    baseline: z
      .enum(["whole-field", "grid", "zone"])
      .default("whole-field")
      .describe("The strategy the others are compared with"),
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
