import {FieldError, type Issue} from "../errors.ts";
import type {Analyte, Method, UnitValue} from "../lab/soil-test.ts";
import {formatShort as n, roundHalfAway} from "../units/format.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {Basis} from "./guide.ts";
import type {WorkingStep} from "./recommendation.ts";

/** A published relation between soil tests by two methods: `to = from × times + plus`, in mg/kg. */
export interface MethodRelation {
  readonly id: string;
  readonly analyte: Analyte;
  readonly from: readonly Method[];
  readonly to: Method;
  readonly times: number;
  readonly plus: number;
  /** The arithmetic as it is printed, after the number. */
  readonly rule: string;
  readonly source: string;
  /** Soils it was fitted on. */
  readonly where: string;
  readonly basis: Basis;
}

const OHIO_RATIO = "Ohio State University Extension, fact sheet ANR-75 (2019)";
const OHIO_SOILS = "soils of Ohio and Indiana in the agronomic range, detection by ICP";

/**
 * No relation is exact; a guide calibrated for the test in hand goes before all of these.
 *
 * The two for Ohio phosphorus disagree by 6 ppm at 22 ppm and cross near 89 ppm. The ratio comes first because it is the
 * newer and the one the 2020 Tri-State limits were derived with.
 */
export const METHOD_RELATIONS: readonly MethodRelation[] = [
  {
    id: "ohio-p-ratio",
    analyte: "P",
    from: ["mehlich-3 icp"],
    to: "bray-1",
    times: 1 / 1.35,
    plus: 0,
    rule: "÷ 1.35",
    source: OHIO_RATIO,
    where: OHIO_SOILS,
    basis: "printed",
  },
  {
    id: "ohio-p-regression",
    analyte: "P",
    from: ["mehlich-3 icp"],
    to: "bray-1",
    times: 0.832,
    plus: -8.08,
    rule: "× 0.832 − 8.08",
    source: "Ohio State University, guidance on soil-test phosphorus values",
    where: "soils of Ohio, an older regression",
    basis: "printed",
  },
  {
    id: "ohio-p-ratio-back",
    analyte: "P",
    from: ["bray-1"],
    to: "mehlich-3 icp",
    times: 1.35,
    plus: 0,
    rule: "× 1.35",
    source: OHIO_RATIO,
    where: OHIO_SOILS,
    basis: "printed",
  },
  {
    id: "ohio-k-ratio",
    analyte: "K",
    from: ["mehlich-3 icp", "mehlich-3"],
    to: "ammonium acetate",
    times: 1 / 1.14,
    plus: 0,
    rule: "÷ 1.14",
    source: OHIO_RATIO,
    where: OHIO_SOILS,
    basis: "printed",
  },
  {
    id: "ohio-k-ratio-back",
    analyte: "K",
    from: ["ammonium acetate"],
    to: "mehlich-3 icp",
    times: 1.14,
    plus: 0,
    rule: "× 1.14",
    source: OHIO_RATIO,
    where: OHIO_SOILS,
    basis: "printed",
  },
];

/** @throws {FieldError} `recommend/no-relation` for an id that is none of `METHOD_RELATIONS`. */
export function findRelation(id: string): MethodRelation {
  const found = METHOD_RELATIONS.find((relation) => relation.id === id);
  if (found) return found;
  const ids = METHOD_RELATIONS.map((relation) => relation.id);
  const nearest = nearestName(id, ids);
  throw new FieldError("recommend/no-relation", `There is no relation between methods called "${id}".`, {
    hint: nearest ? `Did you mean "${nearest}"?` : `Use one of: ${ids.join(", ")}.`,
  });
}

/**
 * A soil test as another method would most likely have read it, in mg/kg. Below zero becomes zero.
 *
 * The remark names the source, the soils, and what the other published relations would have given.
 */
export function convertMethod(
  test: UnitValue,
  relation: MethodRelation,
): {test: UnitValue; step: WorkingStep; issues: readonly Issue[]} {
  if (test.unit !== "mg/kg" || !relation.from.includes(test.method) || relation.analyte !== test.analyte) {
    throw new Error(`${relation.id} is not for ${test.analyte} by ${test.method} in ${test.unit}`);
  }
  const value = related(test.value, relation);
  const others = METHOD_RELATIONS.filter(
    (other) =>
      other !== relation &&
      other.analyte === relation.analyte &&
      other.to === relation.to &&
      other.from.includes(test.method),
  ).map((other) => `${n(related(test.value, other), 1)} by ${other.source} (${other.rule})`);
  const rivals = others.length > 0 ? ` Another published relation gives ${others.join(", and ")}.` : "";
  const issue: Issue = {
    code: "recommend/method-converted",
    severity: "warning",
    message: `${test.analyte} ${n(test.value)} ppm by ${test.method} was converted to ${n(value, 1)} ppm by ${relation.to} (${relation.rule}; ${relation.source}; ${relation.where}).${rivals}`,
    hint: "No conversion is exact: use a guide made for the test in hand where there is one.",
  };
  const step: WorkingStep = {
    text: `converted to ${relation.to}: ${n(test.value)} ${relation.rule}`,
    value,
    unit: "ppm",
    source: relation.source,
    basis: relation.basis === "user" ? "user" : relation.basis,
  };
  return {test: {...test, value, method: relation.to}, step, issues: [issue]};
}

function related(value: number, {times, plus}: MethodRelation): number {
  return Math.max(0, roundHalfAway(value * times + plus, 6));
}
