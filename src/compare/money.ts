import {FieldError} from "../errors.ts";
import type {Prescription} from "../prescription/prescription.ts";
import type {Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import {bagsOf} from "./bags-of.ts";
import type {StrategyResult} from "./compare-input.ts";
import {fillPrices, type GivenPrices, type Price, type PriceList} from "./prices.ts";

export interface MoneySettings {
  readonly prices?: GivenPrices;
  /** Year of the prices given. */
  readonly year?: number | undefined;
  readonly placement?: "broadcast" | "subsurface";
  /** Years until the field is sampled again. Default 4 (every 2 to 4 years in Iowa and Illinois). */
  readonly samplingYears?: number | undefined;
  /** Crop years one application serves. Default 1. */
  readonly applicationYears?: number | undefined;
  /** Hours to sample each plan, as `timeOnField` counts them; a plan without them is charged no labour, and a note says so. */
  readonly hours?: Readonly<Partial<Record<Strategy, number>>>;
}

export interface MoneyLine {
  readonly group: "product" | "sampling" | "application";
  /** In words: "11-52-0", "lab", "cores and bags", "zone making", "broadcasting 11-52-0". */
  readonly what: string;
  readonly dollars: number;
  /** Years the money serves. */
  readonly years: number;
  readonly perAcre: number;
  readonly perYear: number;
  readonly perAcrePerYear: number;
  /** The sum as a person would do it: "63 samples × 10 $". */
  readonly working: string;
}

export interface StrategyMoney {
  readonly strategy: Strategy;
  readonly lines: readonly MoneyLine[];
  /** Sums of the lines; what has no price is in none of them, and `notes` say so. */
  readonly dollars: number;
  readonly perYear: number;
  readonly perAcrePerYear: number;
  readonly samplingPerYear: number;
  readonly productPerYear: number;
  readonly applicationPerYear: number;
  /** Dollars a year against the baseline; absent on the baseline. */
  readonly againstPerYear?: number;
}

/** What each strategy costs, each dollar spread over the years it serves. */
export interface Money {
  readonly acres: number;
  readonly baseline: Strategy;
  readonly samplingYears: number;
  readonly applicationYears: number;
  readonly strategies: readonly StrategyMoney[];
  readonly prices: PriceList;
  readonly notes: readonly string[];
}

/**
 * The money of a comparison: product, lab, labour, zone making and application, per acre and per year.
 *
 * Sampling is spread over the sampling cycle, product and application over the crop years an application serves. Only
 * ground with a rate above zero is charged for a pass; a pass at several rates costs the variable-rate price on top. Each
 * product is a pass of its own.
 *
 * @throws {FieldError} `compare/bad-price`, `compare/bad-years`, `compare/no-baseline`.
 */
export function moneyOf(
  input: {readonly areaM2: number; readonly strategies: readonly StrategyResult[]; readonly baseline: Strategy},
  settings: MoneySettings = {},
): Money {
  const {samplingYears = 4, applicationYears = 1} = settings;
  for (const years of [samplingYears, applicationYears]) {
    if (years > 0 && years < Infinity) continue;
    throw new FieldError("compare/bad-years", `Money cannot be spread over ${years} years.`, {
      hint: "Give the years between samplings and the crop years one application serves.",
    });
  }
  const acres = input.areaM2 / SQUARE_METRES_PER_ACRE;
  const prices = fillPrices(settings.prices ?? {}, settings.year);
  const bare = input.strategies.map((strategy) => {
    const lines = [
      ...productLines(strategy, acres, applicationYears),
      ...samplingLines(strategy, acres, samplingYears, prices, settings),
      ...applicationLines(strategy, acres, applicationYears, prices, settings.placement ?? "broadcast"),
    ];
    return sumUp(strategy.plan.strategy, lines, acres);
  });
  const base = bare.find(({strategy}) => strategy === input.baseline);
  if (!base) {
    throw new FieldError("compare/no-baseline", `The baseline ${input.baseline} is not among the strategies.`, {
      hint: "Plan it too, or choose another baseline.",
    });
  }
  return {
    acres,
    baseline: input.baseline,
    samplingYears,
    applicationYears,
    strategies: bare.map((money) =>
      money === base ? money : {...money, againstPerYear: money.perYear - base.perYear},
    ),
    prices,
    notes: notesOn(input.strategies, prices, settings.hours),
  };
}

function productLines({prescriptions = []}: StrategyResult, acres: number, years: number): MoneyLine[] {
  return prescriptions.flatMap(({product, totals}) =>
    product.pricePerLb === undefined
      ? []
      : [
          line("product", product.analysis, totals.productLb * product.pricePerLb, acres, years, [
            `${formatNumber(totals.productLb)} lb × ${formatShort(product.pricePerLb, 4)} $`,
          ]),
        ],
  );
}

function samplingLines(
  {plan}: StrategyResult,
  acres: number,
  years: number,
  prices: PriceList,
  {hours: known}: MoneySettings,
): MoneyLine[] {
  const {samples, cores} = bagsOf(plan);
  const hours = known?.[plan.strategy] ?? 0;
  const {labPerSample, perCore, labourPerHour, zoneMakingPerAcre} = prices;
  return [
    line("sampling", "lab", samples * labPerSample.value, acres, years, [`${samples} samples`, labPerSample]),
    line("sampling", "taking samples", hours * labourPerHour.value + cores * perCore.value, acres, years, [
      ...(hours > 0 && labourPerHour.value > 0 ? [`${formatShort(hours, 1)} h`, labourPerHour] : []),
      ...(perCore.value > 0 ? [`${hours > 0 && labourPerHour.value > 0 ? "+ " : ""}${cores} cores`, perCore] : []),
    ]),
    ...(plan.strategy === "zone"
      ? [
          line("sampling", "zone making", acres * zoneMakingPerAcre.value, acres, years, [
            `${formatNumber(acres, 1)} ac`,
            zoneMakingPerAcre,
          ]),
        ]
      : []),
  ];
}

function applicationLines(
  {prescriptions = []}: StrategyResult,
  acres: number,
  years: number,
  prices: PriceList,
  placement: "broadcast" | "subsurface",
): MoneyLine[] {
  const pass = placement === "broadcast" ? prices.broadcastPerAcre : prices.subsurfacePerAcre;
  const extra = prices.variableRatePerAcre;
  return prescriptions.map((prescription) => {
    const spread = acresSpread(prescription);
    const varied = new Set(prescription.polygons.map(({rateLbPerAcre}) => rateLbPerAcre)).size > 1;
    const dollars = spread * (pass.value + (varied ? extra.value : 0));
    const verb = placement === "broadcast" ? "broadcasting" : "placing";
    return line("application", `${verb} ${prescription.product.analysis}`, dollars, acres, years, [
      `${formatNumber(spread, 1)} ac`,
      pass,
      ...(varied ? [`+ ${formatNumber(spread, 1)} ac at several rates`, extra] : []),
    ]);
  });
}

/** Acres that get any product at all. */
function acresSpread({polygons}: Prescription): number {
  return (
    polygons.reduce((sum, {area, rateLbPerAcre}) => (rateLbPerAcre > 0 ? sum + area : sum), 0) / SQUARE_METRES_PER_ACRE
  );
}

function line(
  group: MoneyLine["group"],
  what: string,
  dollars: number,
  acres: number,
  years: number,
  working: readonly (string | Price)[],
): MoneyLine {
  const said = working.map((part) =>
    typeof part === "string" ? part : `× ${formatShort(part.value, 2)} ${part.unit}`,
  );
  return {
    group,
    what,
    dollars,
    years,
    perAcre: dollars / acres,
    perYear: dollars / years,
    perAcrePerYear: dollars / acres / years,
    working: said.join(" "),
  };
}

function sumUp(strategy: Strategy, lines: readonly MoneyLine[], acres: number): StrategyMoney {
  const perYear = (group?: MoneyLine["group"]): number =>
    lines.reduce((sum, item) => (group === undefined || item.group === group ? sum + item.perYear : sum), 0);
  return {
    strategy,
    lines,
    dollars: lines.reduce((sum, item) => sum + item.dollars, 0),
    perYear: perYear(),
    perAcrePerYear: perYear() / acres,
    samplingPerYear: perYear("sampling"),
    productPerYear: perYear("product"),
    applicationPerYear: perYear("application"),
  };
}

function notesOn(strategies: readonly StrategyResult[], prices: PriceList, hours: MoneySettings["hours"]): string[] {
  const notOurs = Object.values(prices).filter(({basis, value}) => basis !== "user" && value > 0);
  const unpriced = new Set(
    strategies.flatMap(({prescriptions = []}) =>
      prescriptions.filter(({product}) => product.pricePerLb === undefined).map(({product}) => product.analysis),
    ),
  );
  return [
    ...(notOurs.length > 0
      ? [
          "Some prices are not yours but old published ones or placeholders, each marked in the record; set your own before you decide by them.",
        ]
      : []),
    ...(unpriced.size > 0
      ? [`No price was given for ${[...unpriced].join(" and ")}: it is left out of every sum.`]
      : []),
    ...(strategies.some(({plan}) => hours?.[plan.strategy] === undefined)
      ? ["How long sampling takes is not known for every plan; the labour of those plans is left out."]
      : []),
  ];
}
