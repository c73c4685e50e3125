import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {areaM2} from "../geo/measure.ts";
import {checkHolds} from "../prescription/build-prescription.ts";
import {someOf} from "../prescription/count-words.ts";
import {exactRates, type Mixing} from "../prescription/exact-rates.ts";
import {parseProduct} from "../prescription/parse-product.ts";
import {type PassInput, type PassProduct, prescribePass} from "../prescription/prescribe-pass.ts";
import type {BuiltPrescription, MachineLimits, Product} from "../prescription/prescription.ts";
import {type RatedGround, wantOf} from "../prescription/rated-ground.ts";
import {ratesByUnit} from "../prescription/rates-by-unit.ts";
import type {Setback} from "../prescription/setback.ts";
import {loadsOf} from "../prescription/supply.ts";
import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {POUNDS_PER_SHORT_TON} from "../units/factors.ts";
import {formatArea, formatNumber, formatShort} from "../units/format.ts";
import {minimumWidth} from "../units/machine-reach.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {squareMetres} from "../units/quantity.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import type {Rates} from "./rate-options.ts";

export interface PlannedProduct {
  readonly product: Product;
  readonly nutrient: Nutrient;
}

/** The job's products, each with a code of its own for column headings. */
export function productsOf(job: Job): PlannedProduct[] {
  const codes = new Set<string>();
  return job.products.map(({analysis, nutrient, name, price}) => {
    let product = parseProduct({analysis, name, pricePerLb: price});
    for (let n = 2; codes.has(product.code); n++) product = {...product, code: `${product.code.slice(0, 4)}${n}`};
    codes.add(product.code);
    return {product, nutrient};
  });
}

/** What the job's machine can do, lb of product per acre. */
export function limitsOf({machine}: {readonly machine: LimitKeys}): MachineLimits {
  const {step, min, max, belowMin, outside, lostPosition, default: before} = machine;
  return {
    stepLbPerAcre: step,
    minLbPerAcre: min,
    maxLbPerAcre: max,
    belowMin,
    outsideLbPerAcre: outside,
    ...given({lostPositionLbPerAcre: lostPosition, defaultLbPerAcre: before}),
  };
}

type LimitKeys = Pick<Job["machine"], "step" | "min" | "max" | "belowMin" | "outside" | "lostPosition" | "default">;

/** How the job's products are mixed; undefined where each goes by itself. */
export function mixingOf({blend}: Rates): Mixing | undefined {
  if (blend === undefined) return undefined;
  return blend === true ? {} : {nitrogenPerLb: blend.nitrogen};
}

/** Name of the one unit of a pooled plan in the machine's file. */
const WHOLE = "WHOLE";

/**
 * One prescription per product. A mix, and products that are to go together, share their polygons.
 *
 * @param surface - Ground of a rate surface, where rates follow interpolated tests instead of units.
 * @throws {FieldError} those of `prescribePass`, `ratesByUnit` and `blend`; `prescription/product-lacks-nutrient`.
 */
export function prescribePlan(
  job: Job,
  field: Field,
  plan: SamplingPlan,
  recommendations: readonly Recommendation[],
  products: readonly PlannedProduct[],
  setbacks: readonly Setback[] = [],
  surface?: readonly RatedGround[],
): BuiltPrescription<Nutrient>[] {
  const mixing = job.rates && mixingOf(job.rates);
  for (const {product, nutrient} of products) if (!mixing) checkHolds(product, nutrient);
  const units = unitsOf(field, plan);
  const found = products.map(({nutrient}) =>
    ratesByUnit({units, recommendations, nutrient, missing: job.rates?.missing === "zero" ? "zero" : "refuse"}),
  );
  const exact = units.map(({id}, u) =>
    exactRates(
      products,
      found.map(({rates}) => rates[u] as number),
      mixing,
      id,
    ),
  );
  const ground = units.map(({id, shape, area}, u): RatedGround => {
    const needs = found.map(({rates}) => rates[u] as number);
    const lb = exact[u] as number[];
    const wants = products.map(({product, nutrient}, p) =>
      mixing ? mixWant(products, needs, lb, p) : wantOf(product, nutrient, needs[p] as number),
    );
    return {id, shape, area, wants};
  });
  const limits = limitsOf(job);
  const {levels, load} = job.machine;
  const pass = products.map(({product, nutrient}, p): PassProduct<Nutrient> => {
    const issues = [
      ...(found[p]?.issues ?? []),
      ...(mixing ? mixIssues(products, ground, p) : twiceIssues(products, p)),
    ];
    return {product, nutrient, limits, levels, load, issues};
  });
  const input = {
    ...settingsOf(job, plan, setbacks),
    ground: surface ?? ground,
    ...(surface && {units: units.map((unit, u) => ({...unit, exactLbPerAcre: exact[u] as number[]}))}),
  };
  if (mixing) return withMixLoads(prescribePass({...input, products: pass}), job);
  if (job.machine.files !== "separate") return prescribePass({...input, products: pass});
  return pass.flatMap((one, p) => prescribePass(onlyProduct({...input, products: pass}, one, p)));
}

/**
 * The lime of a plan as a prescription, where the job's machine has limits for it.
 *
 * @throws {FieldError} `prescription/no-lime-material` when it is not said what is spread.
 */
export function prescribeLime(
  job: Job,
  field: Field,
  plan: SamplingPlan,
  lime: readonly LimeRecommendation[],
  setbacks: readonly Setback[],
): BuiltPrescription<"lime"> | undefined {
  const machine = job.machine.lime;
  if (!machine || lime.length === 0) return undefined;
  const material = job.lime?.material;
  if (!material) {
    throw new FieldError("prescription/no-lime-material", "Lime is to be spread and nothing says which.", {
      hint: 'Give "material" under "lime", with its name and what it is worth.',
    });
  }
  const product: Product = {
    code: "LIME",
    name: material.name,
    analysis: "lime",
    percent: {N: 0, P2O5: 0, K2O: 0},
    ...given({pricePerLb: machine.price}),
  };
  const units = unitsOf(field, plan);
  // A pooled plan has one recommendation, whatever its unit is called.
  const limeOf = (id: string): LimeRecommendation | undefined =>
    plan.pooled ? lime[0] : lime.find(({unit}) => unit === id);
  const ground = units.map(({id, shape, area}): RatedGround => {
    const tons = limeOf(id)?.tonPerAcre ?? 0;
    const lb = tons * POUNDS_PER_SHORT_TON;
    const text = `${formatShort(tons, 2)} ton of ${material.name} × ${formatNumber(POUNDS_PER_SHORT_TON)}`;
    const working = [{text, value: lb, unit: "lb/ac", source: "a short ton", basis: "arithmetic"} as const];
    return {id, shape, area, wants: [{nutrientLbPerAcre: lb, exactLbPerAcre: lb, working}]};
  });
  const {levels, load} = machine;
  const [made] = prescribePass({
    ...settingsOf(job, plan, setbacks),
    // Tons are large: steps between neighbours are told from a thousand pounds.
    largeStepLbPerAcre: LARGE_LIME_STEP,
    ground,
    products: [
      {
        product,
        nutrient: "lime",
        limits: limitsOf({machine}),
        levels,
        load,
        issues: unlimed(units.filter(({id}) => !limeOf(id))),
      },
    ],
  });
  return made;
}

function unlimed(units: readonly {readonly id: string; readonly area: number}[]): Issue[] {
  if (units.length === 0) return [];
  const area = units.reduce((sum, unit) => sum + unit.area, 0);
  return [
    {
      code: "prescription/no-rate",
      severity: "warning",
      message: `${someOf(units.map(({id}) => id))} (${formatArea(area)}) without a recommendation for lime: set to zero.`,
      hint: "Give their lab results if they should be limed.",
    },
  ];
}

/** lb/ac; an assumption, no source. */
const LARGE_LIME_STEP = 2000;

/** One rate for the field needs no inner borders in the machine's file. */
function unitsOf(field: Field, plan: SamplingPlan) {
  return plan.pooled
    ? [{id: WHOLE, shape: field.outline, area: squareMetres(areaM2(field.outline))}]
    : plan.units.map(({id, shape, area}) => ({id, shape, area}));
}

function settingsOf({machine}: Job, {strategy}: SamplingPlan, setbacks: readonly Setback[]) {
  const {merge, swath, speed, rateChange, largeStep, maxCorners} = machine;
  return {
    strategy,
    setbacks,
    ...(merge && {
      merge: {
        withinLbPerAcre: merge.within ?? 0,
        leastAreaM2: merge.minArea,
        leastWidthM: merge.minWidth ?? minimumWidth({swath, speed, rateChange}),
      },
    }),
    ...given({largeStepLbPerAcre: largeStep, mostVertices: maxCorners}),
  };
}

/** A mix is loaded as one: its loads are told with the first product. */
function withMixLoads(made: BuiltPrescription<Nutrient>[], {machine: {load}}: Job): BuiltPrescription<Nutrient>[] {
  const [first, ...others] = made;
  if (!first || load?.unit !== "lb") return made;
  const {count, lastLb} = loadsOf(
    made.reduce((sum, {totals}) => sum + totals.productLb, 0),
    load.amount,
  );
  const last = count > 1 ? `, the last ${formatNumber(lastLb)} lb` : "";
  const message = `The mix: ${formatNumber(count)} ${count === 1 ? "load" : "loads"} of up to ${formatNumber(load.amount)} lb${last}.`;
  return [{...first, issues: [...first.issues, {code: "blend/loads", severity: "note", message}]}, ...others];
}

/** The pass of one product by itself. */
function onlyProduct(input: PassInput<Nutrient>, one: PassProduct<Nutrient>, p: number): PassInput<Nutrient> {
  const mine = <T>(list: readonly T[]): T[] => [list[p] as T];
  return {
    ...input,
    products: [one],
    ground: input.ground.map((ground) => ({...ground, wants: mine(ground.wants)})),
    ...(input.units && {units: input.units.map((unit) => ({...unit, exactLbPerAcre: mine(unit.exactLbPerAcre)}))}),
  };
}

function mixWant(products: readonly PlannedProduct[], needs: readonly number[], lb: readonly number[], p: number) {
  const {product, nutrient} = products[p] as PlannedProduct;
  const wanted = new Map(products.map((one, i) => [one.nutrient, needs[i] as number]));
  const amounts = [...wanted].map(([name, need]) => `${formatShort(need)} lb ${name}`).join(" and ");
  const value = lb[p] as number;
  return {
    nutrientLbPerAcre: value * (product.percent[nutrient] / 100),
    exactLbPerAcre: value,
    working: [
      {
        text: `${product.analysis} in the mix for ${amounts}`,
        value,
        unit: "lb/ac",
        source: "least cost of the products that gives them exactly",
        basis: "arithmetic",
      } as const,
    ],
  };
}

/** Told once, with the first product: what the whole mix is like. */
function mixIssues(products: readonly PlannedProduct[], ground: readonly RatedGround[], p: number): Issue[] {
  if (p > 0) return [];
  const issues: Issue[] = [];
  if (products.some(({product}) => product.pricePerLb === undefined)) {
    issues.push({
      code: "blend/no-prices",
      severity: "note",
      message: "Not every product has a price: the lightest mix was taken in each unit, not the cheapest.",
    });
  }
  const idle = products.filter((_, i) => ground.every(({wants}) => wants[i]?.exactLbPerAcre === 0));
  if (idle.length > 0) {
    issues.push({
      code: "blend/not-used",
      severity: "note",
      message: `The mix has no ${idle.map(({product}) => product.analysis).join(" and no ")} anywhere: its rates are zero.`,
    });
  }
  return issues;
}

function twiceIssues(products: readonly PlannedProduct[], p: number): Issue[] {
  const {product, nutrient} = products[p] as PlannedProduct;
  const first = products.findIndex((one) => one.nutrient === nutrient);
  if (first === p) return [];
  return [
    {
      code: "prescription/nutrient-twice",
      severity: "warning",
      message: `${product.analysis} is prescribed for ${nutrient} in full, and so is ${products[first]?.product.analysis}: spread only one of them.`,
      hint: 'Leave one out, or say "blend": true under "rates" to mix them.',
    },
  ];
}
