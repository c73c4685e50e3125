import type {StrategyResult} from "../compare/compare-input.ts";
import {compareStrategies} from "../compare/compare-strategies.ts";
import type {Comparison} from "../compare/comparison.ts";
import type {Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import type {Job} from "./job.ts";
import {plannedHours} from "./make-sampling-papers.ts";
import {guideName} from "./rate-options.ts";
import type {RatedPlan} from "./rate-plans.ts";

/**
 * The ledger of a run.
 *
 * @param intervalsShown - Whether how sure it is will be told beside it.
 * @param remarks - Those of the rates, some of which belong under the ledger.
 */
export function compareRun(
  job: Job,
  field: Field,
  strategies: readonly RatedPlan[],
  intervalsShown = false,
  remarks: readonly Issue[] = [],
): Comparison {
  const [first] = strategies;
  if (!first) throw new Error("a comparison of no strategies");
  // A plan that was left out is nothing to measure the others by.
  const rated = strategies.filter(({prescriptions, limeRates}) => prescriptions.length > 0 || limeRates);
  const able = rated.length > 0 ? rated : strategies;
  const chosen = able.find(({plan}) => plan.strategy === job.baseline) ?? able[0] ?? first;
  return compareStrategies({
    field: field.name,
    areaM2: field.area,
    baseline: chosen.plan.strategy,
    strategies: strategies.map(
      ({plan, recommendations, prescriptions, limeRates}): StrategyResult => ({
        plan,
        ...(recommendations.length > 0 && {recommendations}),
        ...((prescriptions.length > 0 || limeRates) && {
          prescriptions: [...prescriptions, ...(limeRates ? [limeRates] : [])],
        }),
      }),
    ),
    ...(job.prices && {
      prices: {
        year: job.prices.year,
        labPerSample: job.prices.lab,
        perCore: job.prices.core,
        zoneMakingPerAcre: job.prices.zoneMaking,
        crew: crewPay(job, strategies),
        yearsServed: job.prices.yearsServed,
      },
    }),
    notes: [...overrideNotes(job), ...saidAlready(remarks), ...shiftNotes(strategies)],
    intervalsShown,
    pricesStandIn: intervalsShown && !job.prices && strategies.some(({prescriptions}) => prescriptions.length > 0),
  });
}

/** What the crew is paid for each plan; undefined where it is not paid by the hour. */
function crewPay(job: Job, strategies: readonly RatedPlan[]) {
  const labour = job.prices?.labour;
  if (labour === undefined) return undefined;
  return Object.fromEntries(strategies.map(({plan}) => [plan.strategy, labour * plannedHours(job, plan)]));
}

/** Ground or a plan without a rate looks like a saving, so the ledger says where there is some. */
function saidAlready(remarks: readonly Issue[]): string[] {
  const found = remarks.filter(({code}) => code === "rates/nothing-counted" || code === "rates/plan-left-out");
  return [...new Set(found.map(({message}) => message))];
}

function overrideNotes(job: Job): string[] {
  const reason = job.rates?.acceptMethod?.reason;
  return reason === undefined
    ? []
    : [
        `For arithmetic only: the guide ${job.rates && guideName(job.rates)} was run on tests it was not made for. Reason given: ${reason}`,
      ];
}

/** The ledger has one column for all that moved pounds away from the guide. */
function shiftNotes(strategies: readonly RatedPlan[]): string[] {
  const shifts = strategies.flatMap(({prescriptions}) => prescriptions.map(({shiftedBy}) => shiftedBy));
  const more = [
    ...(shifts.some(({levelsLb}) => levelsLb !== undefined) ? ["a limited number of rates"] : []),
    ...(shifts.some(({setbacksLb}) => setbacksLb !== undefined) ? ["setbacks"] : []),
    ...(shifts.some(({mergingLb}) => mergingLb !== undefined) ? ["merging of polygons"] : []),
  ];
  return more.length === 0
    ? []
    : [`Beside rounding and limits, the same column holds what ${more.join(" and ")} moved.`];
}
