import {FieldError} from "../../errors.ts";
import {KG_PER_HA_PER_LB_PER_ACRE, POUNDS_PER_SHORT_TON, SQUARE_METRES_PER_ACRE} from "../../units/factors.ts";

/** 1 US gallon is 231 cubic inches, 3.785411784 L exactly; a hectare is 10,000 m². */
const GALLONS_PER_ACRE_PER_L_PER_HA = SQUARE_METRES_PER_ACRE / 10_000 / 3.785411784;

const BY_WEIGHT: Readonly<Record<string, number>> = {
  "lb/ac": 1,
  "kg/ha": 1 / KG_PER_HA_PER_LB_PER_ACRE,
  "ton/ac": POUNDS_PER_SHORT_TON,
  "t/ha": 1000 / KG_PER_HA_PER_LB_PER_ACRE,
};
const BY_VOLUME: Readonly<Record<string, number>> = {"gal/ac": 1, "l/ha": GALLONS_PER_ACRE_PER_L_PER_HA};

/**
 * lb of product per acre in one of a unit: lb/ac, kg/ha, ton/ac (2,000 lb), t/ha, and gal/ac and L/ha of a fluid.
 *
 * @param lbPerGallon - Weight of the fluid.
 * @throws {FieldError} `as-applied/unknown-unit`, `as-applied/no-weight`.
 */
export function lbPerAcrePer(unit: string, lbPerGallon: number | undefined): number {
  const key = plain(unit);
  const weight = Object.hasOwn(BY_WEIGHT, key) ? BY_WEIGHT[key] : undefined;
  if (weight !== undefined) return weight;
  const volume = Object.hasOwn(BY_VOLUME, key) ? BY_VOLUME[key] : undefined;
  if (volume === undefined) {
    throw new FieldError("as-applied/unknown-unit", `"${unit}" is not a unit for a rate.`, {
      hint: "Use one of: lb/ac, kg/ha, ton/ac, t/ha, gal/ac, L/ha.",
    });
  }
  if (lbPerGallon === undefined) {
    throw new FieldError("as-applied/no-weight", `Rates in ${unit} need the weight of the fluid.`, {
      hint: 'Give it in the job, as in "lbPerGallon": 11.65.',
    });
  }
  return volume * lbPerGallon;
}

const IN_HEADING: readonly (readonly [RegExp, string])[] = [
  [/lbs?_?(per|p)?_?ac(re)?s?$/, "lb/ac"],
  [/kgs?_?(per|p)?_?ha$/, "kg/ha"],
  [/gals?_?(per|p)?_?ac(re)?s?$/, "gal/ac"],
  [/_l_?(per|p)?_?ha$/, "L/ha"],
];

/** The unit a heading ends in, with or without brackets: `Rate (lb/ac)`, `applied_lb_ac`, `RATE_KGHA`. */
export function rateUnitInHeading(heading: string): string | undefined {
  const bracketed = /[([]\s*([^()[\]]+?)\s*[)\]]\s*$/.exec(heading)?.[1];
  if (bracketed !== undefined) return bracketed;
  const words = heading
    .trim()
    .toLowerCase()
    .replace(/[\s/.-]+/g, "_");
  return IN_HEADING.find(([pattern]) => pattern.test(words))?.[1];
}

function plain(unit: string): string {
  return unit
    .toLowerCase()
    .replace(/\s+/g, "")
    .replace(/^lbs/, "lb")
    .replace(/\/acres?$/, "/ac");
}
