import {FieldError, type Issue} from "../errors.ts";
import {formatShort as n} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {Recommendation, WorkingStep} from "./recommendation.ts";

/** Nutrient that comes from elsewhere and need not be spread. */
export interface Credit {
  readonly kind: "manure" | "starter" | "previous application" | "other";
  readonly nutrient: Nutrient;
  /** lb of oxide per acre that count; one number, or one for each unit (units not named have none). */
  readonly lbPerAcre: number | Readonly<Record<string, number>>;
  /** How the number came about, as in "4,000 gal/ac × 42 lb per 1,000 gal × 70 % available". */
  readonly text: string;
}

/** What the user makes of a guide's rates; lb of oxide per acre throughout. */
export interface Policy {
  readonly credits?: readonly Credit[];
  /** Share of the buildup a band needs, 0.5 to 1. Removal is removal: a band saves none of it. */
  readonly bandFactor?: number;
  readonly limits?: Readonly<Partial<Record<Nutrient, RateLimits>>>;
  /** Rates the user sets against the guide, each with its reason. */
  readonly overrides?: readonly Override[];
}

export interface RateLimits {
  readonly minimum?: number;
  readonly maximum?: number;
  /** What becomes of a rate above zero and below the minimum; "zero" by default. Zero itself always stays zero. */
  readonly belowMinimum?: "zero" | "minimum";
}

export interface Override {
  readonly unit: string;
  readonly nutrient: Nutrient;
  readonly lbPerAcre: number;
  readonly reason: string;
}

/**
 * A guide's recommendation after the user's own rules, each a line of its own in the working.
 *
 * In this order: band factor, credits (never below zero), the smallest and the largest rate, an override. The guide's
 * own rate is kept beside. A rate that a limit holds, raises or drops is told. A rate comes out above the guide's only by
 * an override or a minimum the user set, and then says so.
 *
 * @throws {FieldError} `recommend/bad-credit`, `recommend/bad-band-factor`, `recommend/bad-rate-limits`,
 *   `recommend/bad-override`, `recommend/no-reason`.
 */
export function applyPolicy(recommendation: Recommendation, policy: Policy): Recommendation {
  const {unit, nutrient, rateLbPerAcre: guideRate} = recommendation;
  const lines: Line[] = [];
  let rate = guideRate;
  const apply = (line: Line | undefined): void => {
    if (!line) return;
    lines.push(line);
    rate = line.rate;
  };
  apply(banded(recommendation, rate, policy));
  for (const credit of policy.credits ?? []) apply(credited(credit, unit, nutrient, rate));
  apply(limited(policy.limits?.[nutrient], unit, nutrient, rate));
  apply(overridden(policy, unit, nutrient, rate));
  if (lines.length === 0) return recommendation;
  const issues = lines.flatMap((line) => line.issues ?? []);
  if (rate > guideRate + 1e-9) issues.push(aboveGuide(recommendation, rate, lines));
  const unitWord = `lb ${nutrient}/ac`;
  const steps = lines.map(
    ({text, value, source}): WorkingStep => ({text, value, unit: unitWord, source, basis: "user"}),
  );
  const last: WorkingStep = {
    text: `after the rules above, instead of the guide's ${n(guideRate)}`,
    value: rate,
    unit: unitWord,
    source: "your policy",
    basis: "arithmetic",
  };
  return {
    ...recommendation,
    rateLbPerAcre: rate,
    guideLbPerAcre: guideRate,
    working: [...recommendation.working, ...steps, last],
    issues: [...recommendation.issues, ...issues.map((issue) => ({...issue, place: {featureId: unit}}))],
  };
}

/**
 * The credit of an application of manure.
 *
 * @param given.per - Amount that `lbPerAmount` is the content of: 1000 for lb per 1,000 gal, 1 for lb per ton.
 * @param given.availablePct - Share a crop can use. Published shares of phosphorus run from 50 to 100 %; a balance for
 *   the environment always counts all of it.
 * @throws {FieldError} `recommend/bad-credit`.
 */
export function manureCredit(given: {
  readonly nutrient: Nutrient;
  readonly amountPerAcre: number;
  readonly amountUnit: string;
  readonly lbPerAmount: number;
  readonly per: number;
  readonly availablePct: number;
}): Credit {
  const {nutrient, amountPerAcre, amountUnit, lbPerAmount, per, availablePct} = given;
  const isGood = [amountPerAcre, lbPerAmount].every((x) => x >= 0 && x < Infinity) && per > 0;
  if (!isGood || !(availablePct >= 0 && availablePct <= 100)) {
    throw new FieldError(
      "recommend/bad-credit",
      "The amount, content or availability of the manure is not a number that can be.",
      {
        hint: "Give amounts from zero up and an availability of 0 to 100 percent.",
      },
    );
  }
  const total = (amountPerAcre / per) * lbPerAmount;
  const content = per === 1 ? `lb per ${amountUnit}` : `lb per ${n(per)} ${amountUnit}`;
  return {
    kind: "manure",
    nutrient,
    lbPerAcre: total * (availablePct / 100),
    text: `${n(amountPerAcre)} ${amountUnit}/ac × ${n(lbPerAmount)} ${content} × ${n(availablePct)} % available, of ${n(total)} in all`,
  };
}

interface Line {
  readonly text: string;
  /** What the line adds to the rate. */
  readonly value: number;
  readonly rate: number;
  readonly source: string;
  readonly issues?: readonly Issue[];
}

function banded({buildupLbPerAcre = 0}: Recommendation, rate: number, {bandFactor}: Policy): Line | undefined {
  if (bandFactor === undefined) return undefined;
  if (!(bandFactor >= 0.5 && bandFactor <= 1)) {
    throw new FieldError("recommend/bad-band-factor", `A band factor of ${bandFactor} is not supported by trials.`, {
      hint: "Give a number from 0.5 to 1: bands needed half to all of a broadcast rate.",
    });
  }
  const saved = buildupLbPerAcre * (1 - bandFactor);
  if (saved === 0) return undefined;
  const text = `band: ${n(buildupLbPerAcre)} of buildup × (1 − ${n(bandFactor)}) saved`;
  return {text, value: -saved, rate: rate - saved, source: "your band factor"};
}

function credited(credit: Credit, unit: string, nutrient: Nutrient, rate: number): Line | undefined {
  if (credit.nutrient !== nutrient) return undefined;
  const lb = typeof credit.lbPerAcre === "number" ? credit.lbPerAcre : (credit.lbPerAcre[unit] ?? 0);
  if (!(lb >= 0 && lb < Infinity)) {
    throw new FieldError(
      "recommend/bad-credit",
      `A ${credit.kind} credit of ${lb} lb ${nutrient}/ac is not possible.`,
      {
        place: {featureId: unit},
        hint: "Give lb of oxide per acre, from zero up.",
      },
    );
  }
  if (lb === 0) return undefined;
  const used = Math.min(lb, rate);
  const over = lb - used;
  const text = `${credit.kind} credit: ${credit.text}${over > 0 ? `; ${n(used)} of ${n(lb)} used` : ""}`;
  const issues: Issue[] =
    over > 1e-9
      ? [
          {
            code: "recommend/credit-left-over",
            severity: "note",
            message: `The ${credit.kind} credit of ${n(lb)} lb ${nutrient}/ac in unit "${unit}" is ${n(over)} more than is due there.`,
            hint: "Carry what is left over to the next crop, or put less there.",
          },
        ]
      : [];
  return {text, value: -used, rate: rate - used, source: "your credit", issues};
}

function limited(limits: RateLimits | undefined, unit: string, nutrient: Nutrient, rate: number): Line | undefined {
  if (!limits) return undefined;
  const {minimum = 0, maximum = Infinity, belowMinimum = "zero"} = limits;
  if (!(minimum >= 0 && maximum > 0 && minimum <= maximum)) {
    throw new FieldError("recommend/bad-rate-limits", `Rates from ${minimum} to ${maximum} lb/ac cannot be kept.`, {
      hint: "Give a smallest rate from zero up and a largest rate above it.",
    });
  }
  const due = `Unit "${unit}" is due ${n(rate)} lb ${nutrient}/ac`;
  if (rate > maximum) {
    const message = `${due} and is held at your largest rate, ${n(maximum)}: ${n(rate - maximum)} stays undone.`;
    const hint = "Raise the limit, or spread the rest in another pass or year.";
    return {
      text: `held at the largest rate, ${n(maximum)}`,
      value: maximum - rate,
      rate: maximum,
      source: "your largest rate",
      issues: [{code: "recommend/held-at-largest", severity: "warning", message, hint}],
    };
  }
  if (rate > 0 && rate < minimum) {
    const isDropped = belowMinimum === "zero";
    const to = isDropped ? 0 : minimum;
    return {
      text: `below the smallest rate, ${n(minimum)}: ${isDropped ? "none" : "raised to it"}`,
      value: to - rate,
      rate: to,
      source: "your smallest rate",
      issues: [
        isDropped
          ? {
              code: "recommend/below-smallest",
              severity: "warning",
              message: `${due}, less than your smallest rate, ${n(minimum)}: it gets none.`,
              hint: 'Lower the limit, or say that such rates are raised to it ("belowMin": "minimum").',
            }
          : {
              code: "recommend/raised-to-smallest",
              severity: "warning",
              message: `${due} and is raised to your smallest rate, ${n(minimum)}.`,
            },
      ],
    };
  }
  return undefined;
}

function overridden({overrides = []}: Policy, unit: string, nutrient: Nutrient, rate: number): Line | undefined {
  const found = overrides.filter((override) => override.unit === unit && override.nutrient === nutrient);
  const [first] = found;
  if (!first) return undefined;
  if (first.reason.trim() === "") {
    throw new FieldError("recommend/no-reason", `The rate set for unit "${unit}" has no reason.`, {
      place: {featureId: unit},
      hint: "Write down why; it is repeated wherever the rate is shown.",
    });
  }
  if (found.length > 1 || !(first.lbPerAcre >= 0 && first.lbPerAcre < Infinity)) {
    const what = found.length > 1 ? `${found.length} rates were` : `A rate of ${first.lbPerAcre} lb/ac was`;
    throw new FieldError("recommend/bad-override", `${what} set for ${nutrient} in unit "${unit}".`, {
      place: {featureId: unit},
      hint: "Set one rate, from zero up.",
    });
  }
  return {
    text: `set to ${n(first.lbPerAcre)}: ${first.reason.trim()}`,
    value: first.lbPerAcre - rate,
    rate: first.lbPerAcre,
    source: "your override",
  };
}

function aboveGuide(
  {unit, nutrient, rateLbPerAcre, guide}: Recommendation,
  rate: number,
  lines: readonly Line[],
): Issue {
  const why = lines.at(-1)?.text ?? "";
  return {
    code: "recommend/above-guide",
    severity: "warning",
    message: `Unit "${unit}" gets ${n(rate - rateLbPerAcre)} lb ${nutrient}/ac more than ${guide.title}, ${guide.edition} gives it (${why}).`,
    hint: "Check local nutrient-management code: rates above a land-grant guide often need a risk assessment.",
  };
}
