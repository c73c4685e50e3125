import type {XY} from "../../src/geo/shapes.ts";
import {seededRandom} from "../../src/stats/random.ts";
import type {SoilTruth} from "./truth.ts";

/** One bag on its way to the lab. */
export interface Bag {
  readonly id: string;
  /** Where the probe was meant to go, metres in the field's frame. */
  readonly cores: readonly XY[];
}

const HEADER = [
  "Sample ID",
  "Depth (in)",
  "pH",
  "Buffer pH",
  "OM (%)",
  "CEC (meq/100 g)",
  "P M3-ICP (ppm)",
  "K M3 (ppm)",
  "Ca M3 (ppm)",
  "Mg M3 (ppm)",
].join(",");

/** How far a core lands from its plan, metres per axis. */
const PLACEMENT_M = 1.2;
/** Spread between cores a hand's breadth apart, as a share (P, K, OM) or in pH. */
const CORE = {p: 0.15, k: 0.09, om: 0.05, ph: 0.08} as const;
/** Repeatability of the lab, as a share or in pH. */
const LAB = {p: 0.08, k: 0.08, om: 0.05, cations: 0.04, ph: 0.05, bufferPh: 0.03} as const;
/** Above this the lab runs no buffer. */
const NO_BUFFER_FROM = 6.8;

/**
 * The lab's report on composites taken from the truth, as CSV text, one line per bag in the order given.
 *
 * A composite is the mean of its cores; each core lands a step off and differs a little from the soil beside it. Then
 * the lab adds its own error. CEC is the sum of the reported cations (Ca/200 + Mg/120 + K/390) and of 12 × (7.0 -
 * buffer pH) where a buffer was run, as most labs compute it.
 *
 * @param depthIn - Sampled depth, inches; the truth is that of 0 to 8.
 */
export function labReport(
  truth: (x: number, y: number) => SoilTruth,
  bags: readonly Bag[],
  seed: number,
  depthIn = 8,
): string {
  const lines = bags.map((bag) => {
    // A bag's luck belongs to the bag: another bag more or less in the box does not change it.
    const random = seededRandom(seed, `lab/${bag.id}`);
    const share = (sd: number): number => Math.exp(sd * random.normal() - (sd * sd) / 2);
    const cores = bag.cores.map((core) => {
      const here = truth(core.x + PLACEMENT_M * random.normal(), core.y + PLACEMENT_M * random.normal());
      return {
        ...here,
        pPpm: here.pPpm * share(CORE.p),
        kPpm: here.kPpm * share(CORE.k),
        omPct: here.omPct * share(CORE.om),
        ph: here.ph + CORE.ph * random.normal(),
      };
    });
    const mean = (what: keyof SoilTruth): number => cores.reduce((sum, core) => sum + core[what], 0) / cores.length;

    const ph = round(mean("ph") + LAB.ph * random.normal(), 1);
    const bufferPh = Math.min(7, round(mean("bufferPh") + LAB.bufferPh * random.normal(), 1));
    const p = round(mean("pPpm") * share(LAB.p), 0);
    const k = round(mean("kPpm") * share(LAB.k), 0);
    const om = round(mean("omPct") * share(LAB.om), 1);
    const bases = mean("cecMeq") - 12 * (7 - mean("bufferPh")) - mean("kPpm") / 390;
    const ca = round(bases * 0.79 * 200 * share(LAB.cations), -1);
    const mg = round(bases * 0.21 * 120 * share(LAB.cations), 0);
    const acid = ph >= NO_BUFFER_FROM ? 0 : 12 * (7 - bufferPh);
    const cec = round(ca / 200 + mg / 120 + k / 390 + acid, 1);
    const buffer = ph >= NO_BUFFER_FROM ? "" : bufferPh.toFixed(1);
    return [bag.id, depthIn, ph.toFixed(1), buffer, om.toFixed(1), cec.toFixed(1), p, k, ca, mg].join(",");
  });
  return `${[HEADER, ...lines].join("\n")}\n`;
}

function round(value: number, decimals: number): number {
  const factor = 10 ** decimals;
  return Math.round(value * factor) / factor;
}
