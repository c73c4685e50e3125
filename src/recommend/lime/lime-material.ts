import {FieldError} from "../../errors.ts";
import {POUNDS_PER_SHORT_TON} from "../../units/factors.ts";
import {formatShort as n} from "../../units/format.ts";
import type {WorkingStep} from "../recommendation.ts";
import type {LimeBasis} from "./lime-method.ts";

/** A liming material by what its label or the state's list says. Different states use different measures. */
export interface LimeMaterial {
  readonly name: string;
  /** Calcium carbonate equivalent or neutralizing value, percent: purity alone. */
  readonly ccePct?: number;
  /** Effective calcium carbonate equivalent, percent: purity and fineness. */
  readonly eccePct?: number;
  /** Effective neutralizing power, lb per ton (not percent). */
  readonly enpLbPerTon?: number;
}

/**
 * Tons of a material that do what a need asks for: need × measure of the basis ÷ measure of the material.
 *
 * Measures are never exchanged for one another: purity says nothing of fineness.
 *
 * @param basis - What the need is in tons of. ECCE needs come from the user: no built-in method states one.
 * @throws {FieldError} `lime/quality` when the material does not have the measure of the basis, `lime/bad-quality`
 *   when its number cannot be.
 */
export function materialTons(
  needTonPerAcre: number,
  basis: LimeBasis | {readonly measure: "ECCE"; readonly percent: {readonly value: number}},
  material: LimeMaterial,
): {tonPerAcre: number; step: WorkingStep} {
  const [has, asked, most, unit] =
    basis.measure === "ENP"
      ? [material.enpLbPerTon, basis.lbPerTon.value, 2 * POUNDS_PER_SHORT_TON, "lb/ton"]
      : [basis.measure === "CCE" ? material.ccePct : material.eccePct, basis.percent.value, 185, "%"];
  if (has === undefined) {
    throw new FieldError(
      "lime/quality",
      `The need is in tons by ${basis.measure}, and ${material.name} has no ${basis.measure}.`,
      {
        hint: `Give its ${basis.measure} from the label; other measures of lime quality mean something else.`,
      },
    );
  }
  if (!(has > 0 && has <= most)) {
    throw new FieldError(
      "lime/bad-quality",
      `${has} ${unit} of ${basis.measure} is not possible for ${material.name}.`,
      {
        hint:
          basis.measure === "ENP"
            ? "Give lb per ton: good limestone has about 1,200 to 2,000; a percentage is another number."
            : "Give percent: limestone has about 50 to 108, hydrated lime up to 135.",
      },
    );
  }
  const tonPerAcre = (needTonPerAcre * asked) / has;
  const step: WorkingStep = {
    text: `as ${material.name}: ${n(needTonPerAcre)} × ${n(asked)} ÷ ${n(has)} ${unit} ${basis.measure}`,
    value: tonPerAcre,
    unit: "ton/ac",
    source: "quality of the material",
    basis: "user",
  };
  return {tonPerAcre, step};
}

/**
 * Effective neutralizing power in lb per ton, from a laboratory's analysis of a limestone.
 *
 * `total neutralizing power × fineness × dry share × 2000`, fineness being 0.2 of what passes 8 mesh but not 20, 0.6 of
 * what passes 20 but not 60, and all of what passes 60 (Ohio; from memory).
 *
 * @throws {FieldError} `lime/bad-quality` when a percentage is none or a finer mesh passes more than a coarser one.
 */
export function enpOf(analysis: {
  readonly tnpPct: number;
  readonly passing8Pct: number;
  readonly passing20Pct: number;
  readonly passing60Pct: number;
  readonly moisturePct?: number;
}): number {
  const {tnpPct, passing8Pct: p8, passing20Pct: p20, passing60Pct: p60, moisturePct = 0} = analysis;
  const isGood =
    p60 >= 0 &&
    p60 <= p20 &&
    p20 <= p8 &&
    p8 <= 100 &&
    moisturePct >= 0 &&
    moisturePct < 100 &&
    tnpPct > 0 &&
    tnpPct <= 185;
  if (!isGood) {
    throw new FieldError("lime/bad-quality", "The analysis of the limestone does not add up.", {
      hint: "Give percents by weight; what passes a fine mesh also passes a coarse one.",
    });
  }
  const finenessPct = 0.2 * (p8 - p20) + 0.6 * (p20 - p60) + p60;
  return (tnpPct / 100) * (finenessPct / 100) * (1 - moisturePct / 100) * POUNDS_PER_SHORT_TON;
}
