import type {Issue} from "../errors.ts";
import {idKey} from "./sample-id.ts";
import type {Analyte, Method, SoilTest} from "./soil-test.ts";

/** Exchangeable bases of one soil, mg/kg, and the buffer reading that stands for its acidity. */
export interface Bases {
  readonly caMgPerKg: number;
  readonly mgMgPerKg: number;
  readonly kMgPerKg: number;
  readonly naMgPerKg?: number;
  /** Absent where the lab read no buffer, as is usual at high pH: no acidity is then counted. */
  readonly bufferPh?: number;
  readonly buffer?: Method;
}

export interface CationSum {
  readonly cecMeqPer100g: number;
  /** Percent of the sum. */
  readonly saturation: {
    readonly Ca: number;
    readonly Mg: number;
    readonly K: number;
    readonly Na: number;
    readonly H: number;
  };
  readonly baseSaturationPct: number;
}

/** mg/kg in one meq/100 g, rounded as most laboratories have them; with exact weights the sum changes by 0.3 %. */
const WEIGHT = {Ca: 200, Mg: 120, K: 390, Na: 230} as const;

/**
 * meq/100 g of acidity for each pH unit a buffer was brought down. The factor belongs to the buffer: exchanging
 * buffers changes a CEC by several units. Laboratory practice, republished; no factor is known for other buffers.
 */
const ACIDITY: Partial<Record<Method, {readonly per: number; readonly from: number}>> = {
  smp: {per: 12, from: 7},
  sikora: {per: 12, from: 7},
  "adams-evans": {per: 8, from: 8},
};

/** Above this soil pH buffers read the lime, not acidity, and free lime adds calcium: the sum is too high. */
const HIGHEST_PH = 7.3;

/**
 * Cation exchange capacity as the sum of cations: Ca/200 + Mg/120 + K/390 + Na/230 + acidity, meq/100 g.
 *
 * @returns undefined for a buffer no factor is known for.
 * Checked against: a laboratory's printed example (3.83 meq/100 g) and two soils of an open lab report.
 */
export function sumOfCations(bases: Bases): CationSum | undefined {
  const acidity = acidityOf(bases);
  if (acidity === undefined) return undefined;
  const parts = {
    Ca: bases.caMgPerKg / WEIGHT.Ca,
    Mg: bases.mgMgPerKg / WEIGHT.Mg,
    K: bases.kMgPerKg / WEIGHT.K,
    Na: (bases.naMgPerKg ?? 0) / WEIGHT.Na,
    H: acidity,
  };
  const cec = parts.Ca + parts.Mg + parts.K + parts.Na + parts.H;
  const pct = (part: number): number => (cec > 0 ? (100 * part) / cec : Number.NaN);
  return {
    cecMeqPer100g: cec,
    saturation: {Ca: pct(parts.Ca), Mg: pct(parts.Mg), K: pct(parts.K), Na: pct(parts.Na), H: pct(parts.H)},
    baseSaturationPct: pct(cec - parts.H),
  };
}

/**
 * Adds a worked-out CEC to samples whose lab gave none, from Ca, Mg and K in mg/kg and the buffer reading.
 *
 * Only when asked: it is an estimate. Samples that lack a part, or whose buffer has no known factor, are left as they
 * are, with an issue.
 */
export function withCec(tests: readonly SoilTest[]): {tests: readonly SoilTest[]; issues: readonly Issue[]} {
  const samples = new Map<string, Partial<Record<Analyte, SoilTest>>>();
  for (const test of tests) {
    const key = idKey(test.sampleId);
    samples.set(key, {...samples.get(key), [test.analyte]: test});
  }
  const added: SoilTest[] = [];
  const without: SoilTest[] = [];
  const limed: SoilTest[] = [];
  for (const sample of samples.values()) {
    const {K, pH} = sample;
    if (sample.CEC || !K) continue;
    const sum = sumOf(sample);
    if (!sum) {
      without.push(K);
      continue;
    }
    if (pH && pH.value > HIGHEST_PH) limed.push(K);
    added.push({
      ...K,
      analyte: "CEC",
      value: sum.cecMeqPer100g,
      unit: "meq/100 g",
      method: "sum of cations",
      source: {...K.source, column: "worked out from Ca, Mg and K"},
    });
  }
  return {tests: [...tests, ...added], issues: remarks(added, without, limed)};
}

function sumOf({Ca, Mg, K, "buffer pH": buffer}: Partial<Record<Analyte, SoilTest>>): CationSum | undefined {
  if (!Ca || !Mg || !K || [Ca, Mg, K].some(({unit}) => unit !== "mg/kg")) return undefined;
  return sumOfCations({
    caMgPerKg: Ca.value,
    mgMgPerKg: Mg.value,
    kMgPerKg: K.value,
    ...(buffer && {bufferPh: buffer.value, buffer: buffer.method}),
  });
}

function acidityOf({bufferPh, buffer}: Bases): number | undefined {
  if (bufferPh === undefined) return 0;
  const factor = buffer && ACIDITY[buffer];
  return factor && Math.max(0, factor.per * (factor.from - bufferPh));
}

function remarks(added: readonly SoilTest[], without: readonly SoilTest[], limed: readonly SoilTest[]): Issue[] {
  const issues: Issue[] = [];
  const tell = (
    about: readonly SoilTest[],
    code: string,
    severity: "note" | "warning",
    text: string,
    hint?: string,
  ): void => {
    const [first] = about;
    if (first) issues.push({code, severity, message: text, place: first.source, ...(hint && {hint})});
  };
  const of = (about: readonly SoilTest[]): string =>
    about.length === 1 ? `sample "${about[0]?.sampleId}"` : `${about.length} samples`;
  tell(added, "lab/cec-worked-out", "note", `The CEC of ${of(added)} was worked out as the sum of cations.`);
  tell(
    without,
    "lab/cec-not-worked-out",
    "warning",
    `The CEC of ${of(without)} cannot be worked out: Ca, Mg and K in ppm and an SMP, Sikora or Adams-Evans buffer are needed.`,
    "Name those columns of the report, or give one CEC for the field.",
  );
  tell(
    limed,
    "lab/cec-calcareous",
    "warning",
    `At pH above ${HIGHEST_PH} the sum of cations of ${of(limed)} counts free lime and is too high.`,
    "Give a CEC measured by displacement, or one for the field.",
  );
  return issues;
}
