import {FieldError} from "../errors.ts";
import {bytesOf, type FileSet} from "../formats/file-set.ts";
import {readText} from "../formats/text.ts";
import {type Credit, manureCredit, type Policy} from "../recommend/apply-policy.ts";
import {findGuide} from "../recommend/find-guide.ts";
import type {Guide} from "../recommend/guide.ts";
import {readGuide} from "../recommend/read-guide.ts";
import type {RecommendOptions} from "../recommend/recommend.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";

// What a job's settings mean to the functions of recommend/.

export type Rates = NonNullable<Job["rates"]>;

/** Name of the guide for headings and records. */
export function guideName({guide}: Rates): string {
  return typeof guide === "string" ? guide : guide.file;
}

/** @throws {FieldError} `recommend/no-guide`; `guide/not-json`, `guide/not-valid` for the user's own. */
export function guideOf({guide}: Rates, files: FileSet): Guide {
  if (typeof guide === "string") return findGuide(guide);
  const {file} = guide;
  let data: unknown;
  try {
    data = JSON.parse(readText(bytesOf(files, file), file).value);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    throw new FieldError("guide/not-json", `${file} is not valid JSON: ${error.message}.`, {
      place: {file},
      hint: "Check quotes, commas and brackets; docs/guides/your-own.md has an example.",
    });
  }
  return readGuide(data, file);
}

export function recommendOptions(rates: Rates, nutrients: RecommendOptions["nutrients"]): RecommendOptions {
  const {state, rotation, buildup, buildupYears, soilGroup, previousCrop, removalSet, removal} = rates;
  const {cec, cecBoundary, clampCec, acceptMethod, convertMethod} = rates;
  return {
    ...given({
      nutrients,
      state,
      buildupYears,
      soilGroup,
      previousCrop,
      removalSet,
      cecBoundary,
      clampCec,
      acceptMethod,
    }),
    rotation,
    buildup,
    ...(cec !== undefined && {cecMeq: cec}),
    ...(removal && {removal: Object.fromEntries(Object.entries(removal).map(([crop, lb]) => [crop, given(lb)]))}),
    ...(convertMethod !== undefined && {convertMethod: convertMethod === true ? {} : {relation: convertMethod}}),
  };
}

/** @throws {FieldError} `rates/manure-units` when amount and content of a manure are in different measures. */
export function policyOf({policy}: Rates): Policy {
  const {bandFactor, credits, limits, overrides} = policy;
  return {
    ...given({bandFactor}),
    credits: credits.map(creditOf),
    limits: Object.fromEntries(
      Object.entries(given(limits)).map(([nutrient, {min, max, belowMin}]) => [
        nutrient,
        {...given({minimum: min, maximum: max}), belowMinimum: belowMin},
      ]),
    ),
    overrides: overrides.map(({rate, ...rest}) => ({...rest, lbPerAcre: rate})),
  };
}

function creditOf(credit: Rates["policy"]["credits"][number]): Credit {
  if (credit.kind !== "manure") {
    const {kind, nutrient, rate, byUnit, text} = credit;
    return {kind, nutrient, lbPerAcre: byUnit ?? rate ?? 0, text};
  }
  const {nutrient, amount, content, availablePct} = credit;
  if (amount.unit !== content.unit) {
    throw new FieldError(
      "rates/manure-units",
      `The manure is given in ${amount.unit} and its content per ${content.unit}.`,
      {
        hint: "Give both by the same measure; the laboratory's sheet has the weight of a gallon.",
      },
    );
  }
  return manureCredit({
    nutrient,
    amountPerAcre: amount.amount,
    amountUnit: amount.unit,
    lbPerAmount: content.lb,
    per: content.amount,
    availablePct,
  });
}

/** @throws {FieldError} `rates/no-such-unit` for a setting of a sampling unit that no plan has. */
export function checkUnitNames({crops, policy}: Rates, planned: readonly string[]): void {
  const known = new Set(["whole field", ...planned]);
  const named = [
    ...crops.flatMap(({byUnit}) => Object.keys(byUnit)),
    ...policy.overrides.map(({unit}) => unit),
    ...policy.credits.flatMap((credit) => ("byUnit" in credit ? Object.keys(credit.byUnit ?? {}) : [])),
  ];
  const stray = named.find((unit) => !known.has(unit));
  if (stray === undefined) return;
  throw new FieldError("rates/no-such-unit", `The job sets something for unit "${stray}", which no plan has.`, {
    hint: `Units are ${planned.slice(0, 6).join(", ")}${planned.length > 6 ? " and more" : ""}.`,
  });
}
