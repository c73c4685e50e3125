import type {Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import type {CropYear} from "./crop-years.ts";
import type {Basis, Cited} from "./guide.ts";
import type {Recommendation, WorkingStep} from "./recommendation.ts";
import type {RemovalOptions} from "./removal.ts";

/** Settings of the rules; each kind of rule reads those that mean something to it. */
export interface RuleOptions extends RemovalOptions {
  /** Whether a soil below the critical level is built up as well as kept; true by default. */
  readonly buildup?: boolean;
  /** Years to build up over; the guide's own by default. */
  readonly buildupYears?: number;
  /** Which side of the guide's CEC boundary the boundary itself is on: "at most 5" or "below 5" is low; the guide's own by default. */
  readonly cecBoundary?: "at most" | "below";
  /** Holds CEC within the range the buildup slope was fitted for. Not part of a guide, so off by default. */
  readonly clampCec?: boolean;
  /** meq/100 g for the whole field, for units whose lab report gives none. */
  readonly cecMeq?: number;
  /** One of the guide's soil groups, where it has them. */
  readonly soilGroup?: string;
  /** The crop before the first one served, where the guide asks for it. */
  readonly previousCrop?: string;
}

/** What a rule is evaluated on. */
export interface Given {
  readonly unit: string;
  readonly test: UnitValue;
  /** The lab's number and whatever was done to it: the first lines of the working. */
  readonly testSteps: readonly WorkingStep[];
  /** All tests of the unit; the CEC is among them. */
  readonly tests: readonly UnitValue[];
  readonly years: readonly CropYear[];
  /** Ids of the crops that are grown, served by the application or not. */
  readonly rotation: readonly string[];
  readonly options: RuleOptions;
}

/** What a rule gives. */
export type Worked = Pick<
  Recommendation,
  "rateLbPerAcre" | "testClass" | "working" | "issues" | "classLimits" | "criticalLevel" | "buildupLbPerAcre"
>;

/** A sum of several numbers is as well known as the least known of them. */
export function weakest(cited: readonly Cited[]): Basis {
  const bases = cited.map(({basis}) => basis);
  return bases.includes("from memory") ? "from memory" : bases.includes("user") ? "user" : "printed";
}

/** The line under several terms, or none under a single one. */
export function totalStep(due: readonly WorkingStep[], years: number, text: (value: number) => string): WorkingStep[] {
  const [first] = due;
  if (!first || due.length < 2) return [];
  const sum = due.reduce((total, {value}) => total + value, 0);
  const terms = due.map(({value}, i) => (i === 0 ? text(value) : `${value < 0 ? "−" : "+"} ${text(Math.abs(value))}`));
  const over = years > 1 ? ` over ${years} crop years` : "";
  return [{text: `total${over}: ${terms.join(" ")}`, value: sum, unit: first.unit, source: "sum", basis: "arithmetic"}];
}

/** Puts the unit's name to remarks. */
export function placed(issues: readonly Issue[], unit: string): Issue[] {
  return issues.map((issue) => ({...issue, place: {featureId: unit}}));
}
