import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import {squareMetres} from "../units/quantity.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {type GridOptions, planGrid} from "./by-grid.ts";
import {planZones, type ZoneOptions} from "./by-zone.ts";
import {expectedErrorPct} from "./cores-needed.ts";
import {type Pace, timeOnField, USUAL_PACE} from "./pace.ts";
import type {SamplingPlan, Strategy} from "./plan.ts";
import {planWholeField, type WholeFieldOptions} from "./whole-field.ts";

/** What one sampling may cost; one of the two or both. */
export interface Budget {
  readonly dollars?: number | undefined;
  /** Bags the laboratory can be sent. */
  readonly bags?: number | undefined;
}

/** The user's prices, of one year. What is left out costs nothing and is said to be left out. */
export interface SamplingPrices {
  readonly year: number;
  readonly perBag?: number | undefined;
  readonly perCore?: number | undefined;
  readonly perHour?: number | undefined;
  readonly zoneMakingPerAcre?: number | undefined;
  /** Years until the field is sampled again. Default 4. */
  readonly yearsServed?: number | undefined;
}

export interface PlanCost {
  readonly strategy: Strategy;
  /** In words: "grid of 2.5 ac". */
  readonly what: string;
  readonly bags: number;
  readonly cores: number;
  readonly hours: number;
  /** Half-width for the mean of a bag, percent, 95 %, for the spread of cores the plan assumes; see the plan. */
  readonly expectedErrorPct: number;
  readonly dollars: number;
  readonly perAcre: number;
  readonly perAcrePerYear: number;
  readonly fits: boolean;
  /** What the dollars are made of: "64 bags × 12 $ + 640 cores × 0.50 $". */
  readonly working: string;
}

export interface PlansWithin {
  /** Every plan tried, cheapest first. */
  readonly tried: readonly PlanCost[];
  /** The finest plan of each strategy that fits: most bags. */
  readonly best: readonly PlanCost[];
  readonly issues: readonly Issue[];
}

export interface BudgetOptions {
  readonly wholeField?: WholeFieldOptions | undefined;
  readonly grid?: GridOptions | undefined;
  readonly zone?: ZoneOptions | undefined;
  readonly pace?: Pace | undefined;
}

/** Cell areas people ask for, acres (Crops & Soils, July-August 2021, and extension texts). */
const USUAL_CELLS = [1, 1.1, 2, 2.5, 4.4, 5, 10];

/**
 * Plans that fit a budget: whole field, zones, grids of the usual sizes, and the finest grid to a tenth of an acre.
 *
 * Every plan is drawn in full, so that edge pieces, bags and the way are counted and not guessed.
 *
 * @param zoneMap - Left out: no zone plan is tried.
 * @throws {FieldError} `sampling/budget` for a budget without a number, or of dollars without a price of bags.
 */
export function plansWithin(
  field: Field,
  zoneMap: ZoneMap | undefined,
  budget: Budget,
  prices: SamplingPrices,
  options: BudgetOptions = {},
): PlansWithin {
  checkBudget(budget, prices);
  const {pace = USUAL_PACE} = options;
  const cost = (what: string, plan: SamplingPlan): PlanCost => costOfPlan(what, plan, field, budget, prices, pace);
  const acres = field.area / SQUARE_METRES_PER_ACRE;
  const tried = [cost("whole field", planWholeField(field, options.wholeField))];
  if (zoneMap) tried.push(cost("zones", planZones(field, zoneMap, options.zone)));
  const gridOf = (cell: number): PlanCost =>
    cost(
      `grid of ${formatNumber(cell, 1)} ac`,
      planGrid(field, {...options.grid, cellArea: squareMetres(cell * SQUARE_METRES_PER_ACRE)}),
    );
  // A plan cannot have more than 999 bags; a cell larger than the field is the field.
  const cells = USUAL_CELLS.filter((cell) => acres / cell < 900 && cell < 2 * acres);
  const grids = cells.map(gridOf);
  tried.push(...grids);
  const firstFit = grids.findIndex(({fits}) => fits);
  if (firstFit > 0) {
    // Tenths of an acre between the largest usual cell that is too dear and the smallest that fits.
    let low = Math.round(10 * (cells[firstFit - 1] as number));
    let high = Math.round(10 * (cells[firstFit] as number));
    while (high - low > 1) {
      const middle = Math.floor((low + high) / 2);
      const grid = gridOf(middle / 10);
      tried.push(grid);
      if (grid.fits) high = middle;
      else low = middle;
    }
  }
  tried.sort((a, b) => a.dollars - b.dollars || a.bags - b.bags);
  const best = (["whole-field", "zone", "grid"] as const).flatMap((strategy) => {
    const fitting = tried.filter((plan) => plan.strategy === strategy && plan.fits);
    return fitting.length > 0 ? [fitting.reduce((a, b) => (b.bags > a.bags ? b : a))] : [];
  });
  return {tried, best, issues: remarks(field, budget, prices, pace, best)};
}

/** What one plan costs, by the user's prices; labour by the stated pace. */
export function costOfPlan(
  what: string,
  plan: SamplingPlan,
  field: Field,
  budget: Budget,
  prices: SamplingPrices,
  pace: Pace = USUAL_PACE,
): PlanCost {
  const {perBag = 0, perCore = 0, perHour = 0, zoneMakingPerAcre = 0, yearsServed = USUAL_YEARS} = prices;
  const taken = [...plan.units, ...(plan.duplicates ?? [])].filter((bag) => bag.cores.length > 0);
  const bags = taken.length;
  const cores = taken.reduce((sum, bag) => sum + bag.cores.length, 0);
  const {hours} = timeOnField(plan, pace);
  const acres = field.area / SQUARE_METRES_PER_ACRE;
  const making = plan.strategy === "zone" ? zoneMakingPerAcre : 0;
  const dollars = bags * perBag + cores * perCore + hours * perHour + acres * making;
  const parts = [
    ...(perBag > 0 ? [`${bags} bags × ${formatNumber(perBag, 2)} $`] : []),
    ...(perCore > 0 ? [`${cores} cores × ${formatNumber(perCore, 2)} $`] : []),
    ...(perHour > 0 ? [`${formatNumber(hours, 1)} h × ${formatNumber(perHour, 2)} $`] : []),
    ...(making > 0 ? [`${formatNumber(acres, 1)} ac × ${formatNumber(making, 2)} $`] : []),
  ];
  const {coreCvPct = 35, cores: coresPerBag = 1} = plan.madeFrom.options as {coreCvPct?: number; cores?: number};
  return {
    strategy: plan.strategy,
    what,
    bags,
    cores,
    hours,
    expectedErrorPct: expectedErrorPct(coreCvPct, coresPerBag, 0.95),
    dollars,
    perAcre: dollars / acres,
    perAcrePerYear: dollars / acres / yearsServed,
    fits: dollars <= (budget.dollars ?? Infinity) && bags <= (budget.bags ?? Infinity),
    working: parts.join(" + ") || "no prices given",
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Every 2 to 4 years (Iowa State, University of Illinois). */
const USUAL_YEARS = 4;

function checkBudget({dollars, bags}: Budget, {perBag}: SamplingPrices): void {
  if (!((dollars ?? 0) > 0 || (bags ?? 0) > 0)) {
    throw new FieldError("sampling/budget", "The budget names neither dollars nor bags.", {
      hint: 'Give one of them, as in "800 $" or 40 bags.',
    });
  }
  if (dollars !== undefined && perBag === undefined) {
    throw new FieldError("sampling/budget", "A budget in dollars needs the laboratory's price of a bag.", {
      hint: 'Give your price with its year, as in "12 $/sample".',
    });
  }
}

function remarks(
  field: Field,
  {dollars, bags}: Budget,
  prices: SamplingPrices,
  pace: Pace,
  best: readonly PlanCost[],
): Issue[] {
  const limits = [
    ...(dollars === undefined ? [] : [`${formatNumber(dollars)} $`]),
    ...(bags === undefined ? [] : [`${bags} bags`]),
  ].join(" and ");
  const left = (["perCore", "perHour"] as const).filter((key) => prices[key] === undefined);
  const names = {perCore: "cores", perHour: "labour"};
  const found = best.map(
    ({what, bags: n, dollars: d, perAcre, perAcrePerYear}) =>
      `${what}, ${n} bags, ${formatNumber(d)} $ (${formatNumber(perAcre, 2)} $/ac, ${formatNumber(perAcrePerYear, 2)} $/ac a year)`,
  );
  return [
    {
      code: "sampling/budget",
      severity: best.length > 0 ? "note" : "warning",
      message:
        best.length > 0
          ? `Within ${limits}, at your prices of ${prices.year}, on ${formatArea(field.area)}: ${found.join("; ")}.${left.length > 0 ? ` No price was given for ${left.map((key) => names[key]).join(" and ")}.` : ""}`
          : `No plan tried fits ${limits}.`,
      hint: `Hours are reckoned at ${pace.drivingMph} mph from bag to bag, ${pace.walkingMph} mph from core to core, ${pace.secondsPerCore} s a core and ${pace.secondsPerBag} s a bag${pace === USUAL_PACE ? " (assumed)" : ""}.`,
    },
  ];
}
