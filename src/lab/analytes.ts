import type {Analyte, Method, SoilTestUnit} from "./soil-test.ts";

/** What a lab may report for one analyte. */
export interface AnalyteFacts {
  readonly methods: readonly Method[];
  /** Units the analyte is reported in; the limits below are in the first. */
  readonly units: readonly SoilTestUnit[];
  /** A value outside is no soil test and is left out. */
  readonly possible: readonly [low: number, high: number];
  /** A value outside is kept and remarked on. */
  readonly usual: readonly [low: number, high: number];
}

const MEHLICH_3: readonly Method[] = ["mehlich-3 icp", "mehlich-3"];
const MAJOR: readonly SoilTestUnit[] = ["mg/kg", "lb/ac", "%"];
const TRACE: readonly SoilTestUnit[] = ["mg/kg", "lb/ac"];
const METAL: readonly Method[] = ["dtpa", ...MEHLICH_3, "mehlich-1"];

/**
 * The analytes, how they are measured, and the values one meets in cropland of the US Corn Belt.
 *
 * The limits are common practice, no source: they catch slips of unit and column, not unusual soils.
 */
export const ANALYTES: Readonly<Record<Analyte, AnalyteFacts>> = {
  P: {
    methods: [...MEHLICH_3, "mehlich-3 colorimetric", "bray-1", "bray-2", "olsen", "mehlich-1", "resin"],
    units: MAJOR,
    possible: [0, 1500],
    usual: [2, 200],
  },
  K: {
    methods: [
      ...MEHLICH_3,
      "mehlich-3 field-moist",
      "ammonium acetate",
      "ammonium acetate field-moist",
      "mehlich-1",
      "resin",
    ],
    units: MAJOR,
    possible: [0, 3000],
    usual: [30, 600],
  },
  Ca: cation([150, 8000]),
  Mg: cation([20, 2000]),
  S: {
    methods: [...MEHLICH_3, "monocalcium phosphate", "ammonium acetate"],
    units: TRACE,
    possible: [0, Infinity],
    usual: [0, 100],
  },
  Zn: {methods: METAL, units: TRACE, possible: [0, Infinity], usual: [0, 40]},
  B: {methods: ["hot water", "dtpa", ...MEHLICH_3], units: TRACE, possible: [0, Infinity], usual: [0, 5]},
  Mn: {methods: METAL, units: TRACE, possible: [0, Infinity], usual: [0, 400]},
  Fe: {methods: METAL, units: TRACE, possible: [0, Infinity], usual: [0, 600]},
  Cu: {methods: METAL, units: TRACE, possible: [0, Infinity], usual: [0, 20]},
  pH: {methods: ["water 1:1", "cacl2"], units: ["pH"], possible: [3, 11], usual: [4.5, 8.4]},
  // The upper end of a buffer's own range stands in BUFFER_START.
  "buffer pH": {
    methods: ["smp", "sikora", "woodruff", "adams-evans", "mehlich buffer"],
    units: ["pH"],
    possible: [3, 8],
    usual: [5.5, 8],
  },
  OM: {methods: ["loss on ignition", "walkley-black"], units: ["%"], possible: [0, 100], usual: [0.5, 12]},
  CEC: {
    methods: ["sum of cations", "displacement", "ammonium acetate"],
    units: ["meq/100 g"],
    possible: [0, 100],
    usual: [2, 45],
  },
};

/** pH of the fresh buffer: no soil can read above it. From memory; Sikora is printed as 7.5 and as 7.7. */
const BUFFER_START: Partial<Record<Method, number>> = {
  smp: 7.5,
  sikora: 7.7,
  woodruff: 7,
  "adams-evans": 8,
  "mehlich buffer": 6.6,
};

/** Spellings of units, with spaces taken out and in lower case. */
const UNIT_WORDS: Readonly<Record<SoilTestUnit, readonly string[]>> = {
  "mg/kg": ["mg/kg", "mgkg-1", "ppm"],
  // pp2m: parts per two million, the older name of the same thing.
  "lb/ac": ["lb/ac", "lbs/ac", "lb/acre", "lbs/acre", "lb/a", "lbs/a", "pp2m"],
  "%": ["%", "percent", "pct"],
  "meq/100 g": ["meq/100g", "meq/100gm", "cmol/kg", "cmolc/kg", "cmol(+)/kg"],
  pH: ["ph", "s.u.", "su"],
};

/** The analyte a word stands for: its own name in any case. Oxides are none. */
export function findAnalyte(word: string): Analyte | undefined {
  return findWord(Object.keys(ANALYTES) as Analyte[], word);
}

/** The method a word stands for: case, spaces and hyphens do not matter. */
export function findMethod(word: string): Method | undefined {
  const methods = new Set(Object.values(ANALYTES).flatMap((facts) => facts.methods));
  return findWord([...methods], word);
}

export function findUnit(word: string): SoilTestUnit | undefined {
  const bare = word.toLowerCase().replaceAll(/\s/g, "");
  return (Object.keys(UNIT_WORDS) as SoilTestUnit[]).find((unit) => UNIT_WORDS[unit].includes(bare));
}

/** Factor from a concentration unit to mg/kg, or undefined for units that are none. */
export function mgPerKgIn(unit: SoilTestUnit): number | undefined {
  // Soil-test lb/ac means two million pounds of soil an acre (6⅔ in) by convention, whatever depth was sampled.
  return {"mg/kg": 1, "lb/ac": 0.5, "%": 10_000, "meq/100 g": undefined, pH: undefined}[unit];
}

/** Limits of an analyte in the unit it is reported in. */
export function limitsIn(
  analyte: Analyte,
  unit: SoilTestUnit,
  method: Method,
): {possible: readonly [number, number]; usual: readonly [number, number]} {
  const {units, possible, usual} = ANALYTES[analyte];
  const per = units[0] === "mg/kg" ? 1 / (mgPerKgIn(unit) ?? 1) : 1;
  const top = BUFFER_START[method] ?? Infinity;
  return {
    possible: [possible[0] * per, Math.min(possible[1] * per, top)],
    usual: [usual[0] * per, Math.min(usual[1] * per, top)],
  };
}

function cation(usual: readonly [number, number]): AnalyteFacts {
  return {
    methods: [...MEHLICH_3, "ammonium acetate", "mehlich-1"],
    units: MAJOR,
    possible: [0, Infinity],
    usual,
  };
}

function findWord<T extends string>(names: readonly T[], word: string): T | undefined {
  const bare = (text: string): string => text.toLowerCase().replaceAll(/[\s_-]/g, "");
  return names.find((name) => bare(name) === bare(word));
}
