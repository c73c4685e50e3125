import {FieldError, type Issue} from "../../errors.ts";
import type {UnitValue} from "../../lab/soil-test.ts";
import {formatShort as n} from "../../units/format.ts";
import type {WorkingStep} from "../recommendation.ts";
import {type LimeMaterial, materialTons} from "./lime-material.ts";
import type {LimeMethod} from "./lime-method.ts";
import {limeNeed} from "./lime-need.ts";

export interface LimeInput {
  readonly unit: string;
  readonly tests: readonly UnitValue[];
  readonly options: LimeOptions;
}

export interface LimeOptions {
  readonly targetPh: number;
  /** pH units under the target before lime is due; the method's own by default. */
  readonly slack?: number;
  /** Depth the lime is to work in, inches; the method's own by default, 4 in no-till and established forage. */
  readonly depthIn?: number;
  readonly material?: LimeMaterial;
  /** Exchangeable acidity as the laboratory reports it, meq/100 g, where the method works from it. */
  readonly acidityMeq?: number;
  /** ton/ac of earlier lime that is still to work, in the method's own basis. */
  readonly residualTonPerAcre?: number;
}

/** How much lime one unit needs, and why. */
export interface LimeRecommendation {
  readonly unit: string;
  /** ton/ac of the material, or of the method's own standard lime where no material is given. */
  readonly tonPerAcre: number;
  /** What a ton is a ton of. */
  readonly material: string;
  readonly targetPh: number;
  readonly method: {readonly id: string; readonly title: string};
  readonly working: readonly WorkingStep[];
  readonly issues: readonly Issue[];
}

/**
 * Works out the lime one unit needs to reach a pH, with every step of the working.
 *
 * Nothing is due where the soil stands no more than the slack under its target. Phosphate and potash are another
 * matter and are not touched.
 *
 * @throws {FieldError} `lime/no-test`, `lime/buffer` when the buffer is not what the method was made for,
 *   `lime/target` for a target the method has no numbers for, `lime/no-acidity`, `lime/bad-depth`, `lime/bad-residual`,
 *   and those of `materialTons`.
 */
export function recommendLime(method: LimeMethod, {unit, tests, options}: LimeInput): LimeRecommendation {
  const pH = tests.find(({analyte}) => analyte === "pH");
  if (!pH) throw refuse("lime/no-test", unit, `Unit "${unit}" has no soil pH.`, "Ask the lab for pH in water.");
  const working: WorkingStep[] = [line(`soil pH by ${pH.method}: ${pH.from}`, pH.value, "pH", "lab result", "user")];
  const issues: Issue[] = pH.method === "water 1:1" ? [] : [saltPh(unit, pH)];
  const {targetPh, material} = options;
  const slack = options.slack ?? method.slack.value;
  const done = (tonPerAcre: number): LimeRecommendation => ({
    unit,
    tonPerAcre,
    material: material?.name ?? standardLime(method),
    targetPh,
    method: {id: method.id, title: method.title},
    working,
    issues,
  });
  if (pH.value > targetPh - slack + 1e-9 || pH.value >= targetPh) {
    const against = slack > 0 ? `${n(targetPh)} − ${n(slack)}` : n(targetPh);
    working.push(
      line(`pH ${n(pH.value)} is not under ${against}: no lime is due`, 0, "ton/ac", method.cite, method.slack.basis),
    );
    return done(0);
  }
  const need = limeNeed(method, unit, pH, tests, options);
  working.push(...need.steps);
  issues.push(...need.issues);
  let tons = need.tonPerAcre;
  if (tons > 0) tons = adjusted(method, unit, tons, options, working);
  if (tons > 0 && material) {
    const {tonPerAcre, step} = materialTons(tons, method.basis, material);
    working.push(step);
    tons = tonPerAcre;
  }
  return done(tons);
}

/** Depth and earlier lime, each a line of its own. */
function adjusted(
  method: LimeMethod,
  unit: string,
  need: number,
  options: LimeOptions,
  working: WorkingStep[],
): number {
  const {depthIn, residualTonPerAcre: residual} = options;
  let tons = need;
  if (depthIn !== undefined && depthIn !== method.depthIn.value) {
    if (!(depthIn > 0 && depthIn <= 14)) {
      throw refuse(
        "lime/bad-depth",
        unit,
        `Lime cannot be worked in ${depthIn} in deep.`,
        "Give the depth in inches, as in 8.",
      );
    }
    tons = (need * depthIn) / method.depthIn.value;
    working.push(
      line(
        `for ${n(depthIn)} in: ${n(need)} × ${n(depthIn)} ÷ ${n(method.depthIn.value)}`,
        tons,
        "ton/ac",
        method.cite,
        method.depthIn.basis,
      ),
    );
  }
  if (residual !== undefined) {
    if (!(residual >= 0 && residual < Infinity)) {
      throw refuse(
        "lime/bad-residual",
        unit,
        `Earlier lime of ${residual} ton/ac is not possible.`,
        "Give tons from zero up.",
      );
    }
    const left = Math.max(0, tons - residual);
    working.push(
      line(`earlier lime still to work: ${n(tons)} − ${n(residual)}`, left, "ton/ac", "your credit", "user"),
    );
    tons = left;
  }
  return tons;
}

function standardLime({basis}: LimeMethod): string {
  return basis.measure === "CCE"
    ? `lime of ${n(basis.percent.value)} % CCE`
    : `lime of ${n(basis.lbPerTon.value)} lb/ton ENP`;
}

function saltPh(unit: string, {method, value}: UnitValue): Issue {
  return {
    code: "lime/salt-ph",
    severity: "warning",
    message: `The pH of ${n(value)} in unit "${unit}" is by ${method}, which reads about half a unit lower than pH in water.`,
    place: {featureId: unit},
    hint: "Give pH in water; targets and tables are for that.",
  };
}

function line(text: string, value: number, unit: string, source: string, basis: WorkingStep["basis"]): WorkingStep {
  return {text, value, unit, source, basis};
}

function refuse(code: string, unit: string, message: string, hint: string): FieldError {
  return new FieldError(code, message, {place: {featureId: unit}, hint});
}
