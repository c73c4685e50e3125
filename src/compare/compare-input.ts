import type {Prescription} from "../prescription/prescription.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";

/** One way to sample the field and what came of it; before the lab has reported, only the plan. */
export interface StrategyResult {
  readonly plan: SamplingPlan;
  readonly recommendations?: readonly Recommendation[];
  readonly prescriptions?: readonly Prescription[];
}

/** Dollars. What is not given is not counted, and the ledger says so. */
export interface SamplingPrices {
  readonly year?: number | undefined;
  readonly labPerSample?: number | undefined;
  readonly perCore?: number | undefined;
  /** Charged to the zone strategy alone. */
  readonly zoneMakingPerAcre?: number | undefined;
  /** Pay of the crew for each plan, where it is paid by the hour. */
  readonly crew?: Readonly<Partial<Record<Strategy, number>>> | undefined;
  /** Years until the field is sampled again. */
  readonly yearsServed?: number | undefined;
}

export interface CompareInput {
  /** Its name. */
  readonly field: string;
  readonly areaM2: number;
  /** In the order of the ledger's rows. */
  readonly strategies: readonly StrategyResult[];
  readonly baseline: Strategy;
  readonly prices?: SamplingPrices;
  /** The guide's words for its soil-test classes, rising. Default: in order of the tests found in them. */
  readonly classOrder?: Readonly<Partial<Record<Nutrient, readonly string[]>>>;
  /** True when intervals are shown with the table; leaves out the note that they are not. */
  readonly intervalsShown?: boolean;
  /** True when money by year is shown with the table, in which published prices stand in for those the user has not given. */
  readonly pricesStandIn?: boolean;
  /** Further sentences to show with the table, such as what the user overrode. */
  readonly notes?: readonly string[];
}
