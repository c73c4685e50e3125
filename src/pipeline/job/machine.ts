import {parseLoad} from "../../units/load.ts";
import {parsePricePerPound} from "../../units/money.ts";
import {parseSeconds, parseSpeed} from "../../units/parse.ts";
import {areaM2, lengthM, quantity, rate, z} from "./shared.ts";

const levels = z.int().min(1).max(250).optional().describe("Most different rates of a product; default any number");
const load = quantity(parseLoad, "load", "8 ton")
  .optional()
  .describe('Counts loads: by weight, or by room as in "1600 gal" or "300 ft3"');
const lostPosition = rate("rate where the position is lost", "0 lb/ac").optional();
const before = rate("rate before the map has spoken", "0 lb/ac").optional();

const belowMin = z
  .enum(["zero", "minimum"])
  .default("zero")
  .describe("What becomes of a rate above zero and below the smallest");

const merge = z
  .strictObject({
    within: rate("difference of rates", "10 lb/ac")
      .optional()
      .describe("Neighbours whose rates differ by no more are joined; default only equal ones"),
    minArea: areaM2("least area", "0.5 ac").prefault("0.5 ac").describe("Smaller polygons join a neighbour"),
    minWidth: lengthM("least width", "100 ft")
      .optional()
      .describe("Narrower polygons join a neighbour; default: the swath, or the way driven while the rate changes"),
  })
  .optional()
  .describe("Joins polygons with close rates, and those too small or too narrow for the machine");

const lime = z
  .strictObject({
    step: rate("rate step", "100 lb/ac").prefault("100 lb/ac"),
    min: rate("smallest rate", "1000 lb/ac").prefault("1000 lb/ac"),
    max: rate("largest rate", "5 ton/ac").prefault("5 ton/ac"),
    belowMin,
    outside: rate("rate outside the field", "0 lb/ac").prefault("0 lb/ac"),
    lostPosition,
    default: before,
    levels,
    load,
    price: quantity(parsePricePerPound, "price of the lime", "25 $/ton").optional(),
  })
  .optional()
  .describe("Makes a prescription of the lime; all in the material as it is spread");

export const machineSection = z
  .strictObject({
    step: rate("rate step", "5 lb/ac").prefault("1 lb/ac"),
    min: rate("smallest rate", "50 lb/ac").prefault("0 lb/ac"),
    max: rate("largest rate", "400 lb/ac").prefault("600 lb/ac"),
    belowMin,
    outside: rate("rate outside the field", "0 lb/ac").prefault("0 lb/ac"),
    lostPosition: lostPosition.describe("Where the controller does not know where it is; default: the rate outside"),
    default: before.describe("Before the map has spoken; default: the rate outside"),
    levels,
    merge,
    swath: lengthM("swath", "90 ft").optional().describe("Width treated at one rate; default 100 ft"),
    speed: quantity(parseSpeed, "speed", "12 mph").optional().describe("Default 15 mph"),
    rateChange: quantity(parseSeconds, "time a change of rate takes", "4 s").optional().describe("Default 4 s"),
    largeStep: rate("large change of rate", "100 lb/ac").optional().describe("Changes above it are remarked on"),
    maxCorners: z
      .int()
      .min(100)
      .optional()
      .describe("Most corners of all polygons; inner borders are simplified to it"),
    files: z
      .enum(["together", "separate"])
      .optional()
      .describe("One set of polygons for all products of a pass, or each product its own; default together"),
    load,
    lime,
  })
  .prefault({})
  .describe("What the spreader can do; rates of product");
