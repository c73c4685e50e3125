import type {Issue} from "../errors.ts";
import type {Method, UnitValue} from "../lab/soil-test.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {type Check, flag, keyed, list, number, object, oneOf, optional, tell, text} from "./check-shape.ts";
import type {PlannedCrop} from "./crop-years.ts";
import type {
  BuildupRule,
  Cited,
  ClassRateRow,
  ClassTableRule,
  Equation,
  EquationRow,
  EquationRule,
  Guide,
  GuideCrop,
  LimitRow,
  NutrientRule,
  PublishedLevel,
  RemovalSet,
  TestNeed,
} from "./guide.ts";
import {sampledTo} from "./guides/cited.ts";

// The shape of a guide written as a data file: that of `Guide`, with a sampling depth in inches for the range of depths
// that is let pass, and an example that may be left out.

export type GuideFile = Omit<Guide, "example"> & {readonly example?: Partial<Guide["example"]>};

const METHODS = [
  "mehlich-3 icp",
  "mehlich-3 colorimetric",
  "mehlich-3",
  "mehlich-1",
  "bray-1",
  "bray-2",
  "olsen",
  "resin",
  "ammonium acetate",
  "mehlich-3 field-moist",
  "ammonium acetate field-moist",
] as const satisfies readonly Method[];

const NUTRIENT: Check<Nutrient> = oneOf(["P2O5", "K2O"]);
const texts = list(text);

/** A number of the user's own, or one with its basis. */
const cited: Check<Cited> = (value, at, problems) => {
  if (typeof value === "number") return {value: number()(value, at, problems), basis: "user"};
  return object<Cited>({
    value: number(),
    basis: oneOf(["printed", "from memory", "user"]),
    note: optional(text) as Check<string>,
  })(value, at, problems);
};
const maybe = <T>(check: Check<T>): Check<T> => optional(check) as Check<T>;

const removal: Check<GuideCrop["removal"]> = object<{P2O5: Cited; K2O: Cited}>({P2O5: maybe(cited), K2O: maybe(cited)});

const range: Check<readonly [number, number]> = (value, at, problems) => {
  const [low = 0, high = 0, ...rest] = list(number(0), 2)(value, at, problems);
  if (rest.length > 0 || !(low < high)) tell(problems, at, "is not two rising numbers");
  return [low, high];
};

const crop: Check<GuideCrop> = object<GuideCrop>({
  id: text,
  yieldUnit: oneOf(["bu/ac", "ton/ac"]),
  usualYield: range,
  removal: (value, at, problems) => (value === undefined ? {} : removal(value, at, problems)),
});

const test: Check<TestNeed> = (value, at, problems) => {
  const {depthIn, unit, alsoPpm, ...need} = object<
    Pick<TestNeed, "analyte" | "methods"> & {unit: "ppm" | "lb/ac"; depthIn: number; alsoPpm: boolean}
  >({
    analyte: oneOf(["P", "K"]),
    methods: list(oneOf(METHODS)),
    unit: oneOf(["ppm", "lb/ac"]),
    depthIn: number(1, 48),
    alsoPpm: maybe(flag),
  })(value, at, problems);
  return {
    ...need,
    unit: unit === "ppm" ? "mg/kg" : "lb/ac",
    unitLabel: unit,
    ...(alsoPpm && unit === "lb/ac" && {alsoIn: {unit: "mg/kg", factor: 2, rule: "ppm × 2, by convention"}}),
    ...sampledTo(depthIn),
  };
};

const limitRow: Check<LimitRow> = object<LimitRow>({
  crops: texts,
  cec: maybe(oneOf(["low", "high"])),
  group: maybe(text),
  critical: cited,
  maintenance: cited,
  zero: maybe(cited),
  perCec: maybe(cited),
});

const buildupRule: Check<BuildupRule> = object<BuildupRule>({
  kind: oneOf(["buildup and maintenance"]),
  nutrient: NUTRIENT,
  test,
  limits: list(limitRow),
  buildup: object<BuildupRule["buildup"]>({
    base: cited,
    perCec: maybe(cited),
    years: maybe(
      object<NonNullable<BuildupRule["buildup"]["years"]>>({
        usual: cited,
        choices: maybe(list(number(1, 50))),
        divides: flag,
      }),
    ),
    squareRoot: maybe(flag),
  }),
  perCropYear: maybe(cited),
  cec: maybe(
    object<NonNullable<BuildupRule["cec"]>>({
      boundary: maybe(cited),
      low: maybe(oneOf(["at most", "below"])),
      fittedFor: maybe(
        object<{from: number; to: number; basis: "printed" | "from memory" | "user"}>({
          from: number(0, 100),
          to: number(0, 100),
          basis: oneOf(["printed", "from memory", "user"]),
        }),
      ),
    }),
  ),
  limitIncluded: maybe(flag),
  yearlyBelowCritical: maybe(flag),
  classes: words(3) as unknown as Check<BuildupRule["classes"]>,
  drawdownClass: maybe(text),
});

const equation: Check<Equation> = (value, at, problems) => {
  const form = oneOf(["per yield", "difference", "full"])(
    (value as {form?: unknown} | null)?.form,
    `${at}.form`,
    problems,
  );
  switch (form) {
    case "per yield":
      return object<Extract<Equation, {form: "per yield"}>>({form: oneOf([form]), intercept: cited, slope: cited})(
        value,
        at,
        problems,
      );
    case "difference":
      return object<Extract<Equation, {form: "difference"}>>({form: oneOf([form]), level: cited, times: cited})(
        value,
        at,
        problems,
      );
    case "full":
      return object<Extract<Equation, {form: "full"}>>({
        form: oneOf([form]),
        constant: cited,
        perYield: cited,
        perTest: cited,
        perBoth: cited,
      })(value, at, problems);
  }
};

const equationRule: Check<EquationRule> = object<EquationRule>({
  kind: oneOf(["equation"]),
  nutrient: NUTRIENT,
  test,
  rows: list(
    object<EquationRow>({
      crops: texts,
      methods: maybe(list(oneOf(METHODS))),
      after: maybe(text),
      equation,
      zeroFrom: maybe(cited),
      least: maybe(cited),
    }),
  ),
  classes: words(2) as unknown as Check<EquationRule["classes"]>,
});

const classRule: Check<ClassTableRule> = object<ClassTableRule>({
  kind: oneOf(["class table"]),
  nutrient: NUTRIENT,
  test,
  classes: list(text, 2),
  scales: list(object<ClassTableRule["scales"][number]>({methods: list(oneOf(METHODS)), upTo: list(cited)})),
  rows: list(
    object<ClassRateRow>({
      crops: texts,
      together: maybe(flag),
      rates: list((value, at, problems) => (value === "removal" ? "removal" : cited(value, at, problems))),
    }),
  ),
});

const rule: Check<NutrientRule> = (value, at, problems) => {
  const kinds = ["buildup and maintenance", "equation", "class table"] as const;
  const kind = oneOf(kinds)((value as {kind?: unknown} | null)?.kind, `${at}.kind`, problems);
  if (kind === "equation") return equationRule(value, at, problems);
  return kind === "class table" ? classRule(value, at, problems) : buildupRule(value, at, problems);
};

const exampleTest: Check<UnitValue> = (value, at, problems) => {
  const {depthIn, unit, ...given} = object<
    Pick<UnitValue, "analyte" | "value"> & {method: Method; unit: "ppm" | "lb/ac" | "meq/100 g"; depthIn: number}
  >({
    analyte: oneOf(["P", "K", "CEC"]),
    value: number(0, 3000),
    unit: oneOf(["ppm", "lb/ac", "meq/100 g"]),
    method: oneOf([...METHODS, "sum of cations", "displacement"]),
    depthIn: number(1, 48),
  })(value, at, problems);
  return {...given, unit: unit === "ppm" ? "mg/kg" : unit, depthM: depthIn * 0.0254, from: "the example's composite"};
};

/** Reads a guide's data file; problems are noted, and the result is only good when there are none. */
export const guideFile: Check<GuideFile> = object<GuideFile>({
  id: (value: unknown, at: string, problems: Issue[]) => {
    const id = text(value, at, problems);
    if (!/^[a-z0-9][a-z0-9-]*$/.test(id)) tell(problems, at, `is "${id}"`, "Use small letters, digits and hyphens.");
    return id;
  },
  title: text,
  edition: text,
  cite: text,
  authors: texts,
  publication: text,
  year: number(1900, 2200),
  region: text,
  crops: list(crop),
  nutrients: list(rule),
  mostCropYears: cited,
  validity: texts,
  example: maybe(
    object<Partial<Guide["example"]>>({
      tests: maybe(list(exampleTest)),
      crops: maybe(
        list(
          object<PlannedCrop>({
            crop: text,
            yieldGoal: number(0),
            yieldUnit: maybe(oneOf(["bu/ac", "ton/ac"])),
            year: maybe(number()),
            goalFrom: maybe(text),
          }),
        ),
      ),
      options: maybe(
        object<{soilGroup?: string; previousCrop?: string}>({soilGroup: maybe(text), previousCrop: maybe(text)}),
      ),
    }),
  ),
  states: maybe(texts),
  removalSets: maybe(list(object<RemovalSet>({id: text, title: text, removal: keyed(removal)}))),
  soilGroups: maybe(object<NonNullable<Guide["soilGroups"]>>({what: text, names: texts})),
  conversions: maybe(texts),
  levels: maybe(
    list(
      object<PublishedLevel>({
        crops: texts,
        analyte: oneOf(["P", "K"]),
        method: oneOf(METHODS),
        level: cited,
        source: text,
      }),
    ),
  ),
  sources: list(object<Guide["sources"][number]>({title: text, gives: text})),
});

/** Just so many words. */
function words(count: number): Check<readonly string[]> {
  return (value, at, problems) => {
    const found = list(text, count)(value, at, problems);
    if (found.length > count) tell(problems, at, `has ${found.length} entries and needs ${count}`);
    return found;
  };
}
