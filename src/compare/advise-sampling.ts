import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import type {CertainStrategy, Certainty} from "./certainty.ts";
import {doubtsOf} from "./doubts-of.ts";
import type {HoldOutResult} from "./hold-out.ts";
import type {Money} from "./money.ts";
import type {OverUnder} from "./over-and-under.ts";
import {type PayAtPrices, type PayOff, payAtGivenPrices} from "./pay-off.ts";
import type {ThinResult} from "./thin-grid.ts";

export interface AdviceInput {
  readonly baseline: Strategy;
  /** Samples by strategy. */
  readonly samples: Readonly<Partial<Record<Strategy, number>>>;
  readonly certainty?: Certainty;
  readonly thinned?: readonly ThinResult[];
  readonly holdOuts?: readonly HoldOutResult[];
  readonly pay?: PayOff;
  /** Ground short and over by the results of single spots. */
  readonly overUnder?: readonly OverUnder[];
  /** The bill of each strategy, to be told apart from the losses. */
  readonly money?: Money;
  /** Why there is no pay-off, where that is not for want of prices. */
  readonly withoutPay?: string;
}

/** Whether sampling finer than the baseline is worth it on this field, as far as the evidence goes. */
export interface SamplingAdvice {
  readonly finer: "pays" | "does not pay" | "not shown";
  /** The strategy the evidence favours; absent where it favours none. */
  readonly strategy?: Strategy;
  /** One plain sentence. */
  readonly headline: string;
  /** What it rests on, a sentence each, the weightiest first. */
  readonly reasons: readonly string[];
  /** One plain sentence on how sure that is. */
  readonly howSure: string;
}

/**
 * Draws a conclusion only where the evidence holds one. "Do not sample finer here" is as good an answer as any, but it is
 * never given for a baseline whose total hangs on a guide's limit or that leaves much ground short: that is not decided.
 *
 * In this order: nothing is needed anywhere; one rate does for nearly all ground; the losses settle it over all prices;
 * they settle it for some; nothing is shown. Hold-outs and structure add their reasons, and can take a "pays" back.
 */
export function adviseSampling(input: AdviceInput): SamplingAdvice {
  const {baseline, certainty, pay, samples} = input;
  const finest = finestOf(input);
  const unit = certainty?.strategies.find(({strategy}) => strategy === finest);
  const support = [...holdOutReasons(input), ...structureReasons(input)];
  if (Object.keys(samples).length < 2) {
    return notShown(input, "only one strategy has rates, so there is nothing to compare it with", support);
  }
  if (unit && needsNothing(unit)) {
    return stay(input, [
      `No unit of the ${inWords(finest)} plan calls for any product, however the samples fell out.`,
      ...support,
    ]);
  }
  if (certainty && unit && oneRateDoes(certainty, baseline, unit)) {
    return stay(input, [
      `Nearly all ground of the ${inWords(finest)} plan gets the rate ${inWords(baseline)} sampling gives, to ${formatNumber(certainty.toleranceLbPerAcre)} lb/ac.`,
      ...support,
    ]);
  }
  if (!pay) {
    const why = input.withoutPay ?? "that takes prices of product and crops, and results of single spots";
    return notShown(input, why, support);
  }
  return byLosses(input, pay, support);
}

function notShown({certainty}: AdviceInput, why: string, reasons: readonly string[]): SamplingAdvice {
  return {
    finer: "not shown",
    headline: `Whether finer sampling pays is not shown: ${why}.`,
    reasons,
    howSure: howSureOf(certainty),
  };
}

function byLosses(input: AdviceInput, pay: PayOff, support: string[]): SamplingAdvice {
  const {baseline, certainty, thinned = [], holdOuts = []} = input;
  const others = pay.prices[0]?.strategies.filter(({strategy}) => strategy !== baseline) ?? [];
  const verdicts = others.map(({strategy}) => ({
    strategy,
    said: pay.prices.map((at) => at.strategies.find((part) => part.strategy === strategy)?.verdict),
  }));
  const here = payAtGivenPrices(pay);
  const ahead = here.strategies.filter((part) => part.verdict === "less").sort((a, b) => a.total - b.total)[0];
  const always = (which: "less" | "more", strategy: Strategy): boolean =>
    verdicts.find((v) => v.strategy === strategy)?.said.every((v) => v === which) ?? false;
  const noneLess = verdicts.every(({said}) => said.every((v) => v !== "less"));
  const withoutPattern =
    thinned.length > 0 && thinned.every(({structure}) => structure === "none" || structure === "almost none");
  const refuted = ahead && holdOuts.some((result) => errsMore(result, ahead.strategy, baseline));
  const amounts = here.strategies.map((part) => amountInWords(part.strategy, part.againstBaseline)).filter(Boolean);
  const against = `Expected loss at your prices, against ${inWords(baseline)} sampling: ${amounts.join("; ")}.${besideTheBill(input)}`;
  const parts = whatItIsMadeOf(here);
  if (ahead && !withoutPattern && !refuted) {
    const firm = always("less", ahead.strategy);
    const byItself = pay.yardstick === ahead.strategy && !holdOuts.some(({ranked}) => ranked);
    const where = firm ? "at all prices looked at" : "at your prices, not at all prices looked at";
    return {
      finer: "pays",
      strategy: ahead.strategy,
      headline: `${byItself ? "By its own samples, sampling" : "Sampling"} by ${inWords(ahead.strategy)} pays here, ${where}.`,
      reasons: [
        against,
        ...(byItself
          ? ["No samples were held out to judge it by, so its lead is an upper guess; ten would tell."]
          : []),
        parts,
        ...support,
      ],
      howSure: howSureOf(certainty),
    };
  }
  if (noneLess) {
    const dearer = verdicts.length > 0 && verdicts.every(({strategy}) => always("more", strategy));
    return stay(
      input,
      [
        dearer
          ? "Finer sampling costs more than it saves at all prices looked at."
          : "Finer sampling is not clearly ahead at any of the prices looked at.",
        against,
        parts,
        ...support,
      ],
      howSureOf(certainty),
    );
  }
  return {
    finer: "not shown",
    headline: refuted
      ? "Whether finer sampling pays is not shown: the hold-out samples speak against what the losses say."
      : withoutPattern
        ? "Whether finer sampling pays is not shown: neighbouring samples tell almost nothing about each other."
        : "Whether finer sampling pays hangs on prices: it does at some of those looked at and not at others.",
    reasons: [against, parts, ...support],
    howSure: howSureOf(certainty),
  };
}

/** The parts of each strategy's loss, or a cheaper product bill would seem to speak for the one that goes short. */
function whatItIsMadeOf({strategies}: PayAtPrices): string {
  const part = (value: number): string => formatNumber(value, 2);
  const sums = strategies.map(
    ({strategy, yieldLoss, excess, sampling, application}) =>
      `${inWords(strategy)} ${part(yieldLoss)} + ${part(excess)} + ${part(sampling + application)}`,
  );
  return `$/ac a year for yield not reached + product not needed + sampling and passes: ${sums.join("; ")}.`;
}

/** What strategies cost is one sum and what they lose another: says what each counts, and the bill beside the loss. */
function besideTheBill({baseline, money}: AdviceInput): string {
  const bills = (money?.strategies ?? []).flatMap(({strategy, againstPerYear}) =>
    againstPerYear === undefined || !money
      ? []
      : [
          `${inWords(strategy)} $${formatNumber(Math.abs(againstPerYear / money.acres), 2)}/ac a year ${againstPerYear < 0 ? "less" : "more"}`,
        ],
  );
  if (bills.length === 0) return "";
  return ` The bill for product, sampling and spreading is another sum (${bills.join(", ")} than ${inWords(baseline)}): the loss leaves out product that ground needs or keeps and adds yield not reached, so the two need not rank alike.`;
}

/** "Do not sample finer", unless the baseline's own figures forbid to lean on them. */
function stay(
  input: AdviceInput,
  reasons: readonly string[],
  howSure = "This holds for this field, these results and these prices.",
): SamplingAdvice {
  const {baseline, certainty} = input;
  const doubts = doubtsOf(baseline, certainty, input.overUnder);
  if (doubts.length > 0) {
    return {
      finer: "not shown",
      headline: `Not decided: ${doubts.map(({doubt}) => doubt).join("; ")}.`,
      reasons: [...new Set(doubts.map(({decidedBy}) => decidedBy)), ...reasons],
      howSure: howSureOf(certainty),
    };
  }
  return {
    finer: "does not pay",
    strategy: baseline,
    headline: `Do not sample finer here: ${inWords(baseline)} sampling is enough.`,
    reasons,
    howSure,
  };
}

function finestOf({samples, baseline}: AdviceInput): Strategy {
  const rows = Object.entries(samples) as [Strategy, number][];
  return rows.reduce((best, row) => (row[1] > best[1] ? row : best), [baseline, samples[baseline] ?? 0])[0];
}

function needsNothing({units, products}: CertainStrategy): boolean {
  return (
    units.length > 0 && products.every(({totalLb, totalLbInterval}) => totalLb === 0 && totalLbInterval.high === 0)
  );
}

/** Nine tenths of the units keep, nine times in ten, within the tolerance of the baseline's own rate. */
function oneRateDoes(certainty: Certainty, baseline: Strategy, finest: CertainStrategy): boolean {
  const own = certainty.strategies.find(({strategy}) => strategy === baseline);
  if (!own || own.strategy === finest.strategy) return false;
  const rateOf = new Map(own.units.map(({code, lbPerAcre}) => [code, lbPerAcre]));
  if (own.units.length !== rateOf.size) return false;
  const like = finest.units.filter(
    ({code, interval}) =>
      interval.low >= (rateOf.get(code) ?? 0) - certainty.toleranceLbPerAcre &&
      interval.high <= (rateOf.get(code) ?? 0) + certainty.toleranceLbPerAcre,
  );
  return finest.units.length > 0 && like.length >= 0.9 * finest.units.length;
}

function errsMore(result: HoldOutResult, strategy: Strategy, baseline: Strategy): boolean {
  return result.differences.some(
    (d) =>
      (d.strategy === strategy && d.against === baseline && d.verdict === "more") ||
      (d.strategy === baseline && d.against === strategy && d.verdict === "less"),
  );
}

function holdOutReasons({holdOuts = []}: AdviceInput): string[] {
  return holdOuts.flatMap(({what, count, ranked, differences}) => {
    if (!ranked) return [`Only ${count} hold-out samples for ${what}: too few to put one strategy before another.`];
    const clear = differences.filter(({verdict}) => verdict === "less" || verdict === "more");
    if (clear.length === 0) return [`${count} hold-out samples show no clear difference in ${what}.`];
    return clear.map(
      ({strategy, against, verdict}) =>
        `${count} hold-out samples: ${inWords(strategy)} errs ${verdict} in ${what} than ${inWords(against)}.`,
    );
  });
}

function structureReasons({thinned = []}: AdviceInput): string[] {
  return thinned.map(({what, structure, leaveOneOut}) => {
    const share = formatNumber(Math.max(0, leaveOneOut.mappedEfficiencyPct));
    return structure === "none" || structure === "almost none"
      ? `${capital(what)} has ${structure === "none" ? "no" : "almost no"} pattern at this spacing: neighbouring samples explain ${share} % of it, so a finer map of it would show mostly chance.`
      : `${capital(what)} has ${structure === "some" ? "some" : "a clear"} pattern: neighbouring samples explain ${share} % of it.`;
  });
}

function amountInWords(strategy: Strategy, against: number | undefined): string {
  if (against === undefined) return "";
  return `${inWords(strategy)} $${formatNumber(Math.abs(against), 2)}/ac a year ${against < 0 ? "better" : "worse"}`;
}

function howSureOf(certainty: Certainty | undefined): string {
  if (!certainty) return "How sure this is was not worked out.";
  const clear = certainty.differences.filter(({verdict}) => verdict !== "no clear difference").length;
  const all = certainty.differences.length;
  const level = formatNumber(100 * certainty.level);
  if (all === 0) return "Only one strategy has rates: its total cannot be told apart from another.";
  if (clear === all) return `The totals differ clearly between all strategies (${level} % intervals).`;
  if (clear === 0)
    return `No total differs clearly from another: the luck of cores and lab could explain it (${level} % intervals).`;
  const others = all - clear === 1 ? "the other" : "the others";
  return `${clear} of ${all} differences between totals ${clear === 1 ? "is" : "are"} clear; ${others} could be the luck of cores and lab (${level} % intervals).`;
}

function inWords(strategy: Strategy): string {
  return strategy === "whole-field" ? "whole-field" : strategy;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
