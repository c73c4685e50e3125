import {FieldError, type Issue} from "../errors.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {LoadSize} from "../units/load.ts";
import {squareMetres} from "../units/quantity.ts";
import {accountOf} from "./account.ts";
import type {Piece} from "./divide-ground.ts";
import {findOverlaps} from "./find-overlaps.ts";
import {type LaidPolygon, type Layout, layPolygons, simplifyGround, vertexCount} from "./lay-polygons.ts";
import {checkLimits, machineRate} from "./machine-rate.ts";
import {machineReadiness} from "./machine-readiness.ts";
import type {MergeOptions} from "./merge-rates.ts";
import {levelIssues, mergingIssues, setbackIssues, simplifiedIssues} from "./pass-issues.ts";
import type {
  BuiltPrescription,
  MachineLimits,
  Prescription,
  Product,
  Purpose,
  RatePolygon,
  Simplified,
} from "./prescription.ts";
import {nearestLevel, rateLevels} from "./rate-levels.ts";
import {largeStepIssues, rateSteps} from "./rate-steps.ts";
import {checkGround, type RatedGround, type Want} from "./rated-ground.ts";
import {concerns, type Setback, setbackRate} from "./setback.ts";
import {spreadOver} from "./spread-over.ts";
import {loadIssues, supplyOf} from "./supply.ts";
import {heldIssues, shiftOver, unitRate} from "./unit-rate.ts";

/** One product of a pass. */
export interface PassProduct<For extends Purpose = Purpose> {
  readonly product: Product;
  readonly nutrient: For;
  readonly limits: MachineLimits;
  /** Most different rates. Default any number. */
  readonly levels?: number | undefined;
  readonly load?: LoadSize | undefined;
  /** Remarks from working the rates out. */
  readonly issues?: readonly Issue[];
}

export interface PassInput<For extends Purpose = Purpose> {
  readonly strategy: Strategy;
  readonly ground: readonly RatedGround[];
  readonly products: readonly PassProduct<For>[];
  readonly setbacks?: readonly Setback[];
  /** Default: nothing is merged. */
  readonly merge?: MergeOptions | undefined;
  /** Most corners of all polygons; inner borders are simplified to keep to it. Default any number. */
  readonly mostVertices?: number | undefined;
  /** Changes between neighbours above this are counted as large, lb/ac. Default 100; an assumption, no source. */
  readonly largeStepLbPerAcre?: number | undefined;
  /** Sampling units where the ground is not theirs, with each one's own rates. Default: the ground. */
  readonly units?: readonly SpreadUnit[];
}

/** A sampling unit on a rate surface. */
export interface SpreadUnit {
  readonly id: string;
  readonly shape: MultiPolygon;
  readonly area: number;
  /** Before the machine's limits, for each product. */
  readonly exactLbPerAcre: readonly number[];
}

/** Shared ground below this is rounding of coordinates. */
const LEAST_OVERLAP_M2 = 1;
/** Inner borders are not moved by more than about this, metres: a tenth of a wide swath. */
const TOLERANCES_M = [0.5, 1, 2, 4] as const;

/**
 * What one pass over a field spreads: product rates in polygons all products of the pass share.
 *
 * Each exact rate is rounded to the machine's step, limited, drawn to a level where their number is limited, then cut by
 * setbacks (the strictest wins; down to a step, never up), merged and, where there are too many corners, simplified. What
 * each of these moved is counted in lb. Pieces share their ground's area out by their area in the plane, so that
 * polygons add up to the ground exactly as its plan measured it.
 *
 * Not a spreading plan: timing is not in it, and which setbacks the law asks for is the user's to say.
 *
 * @returns One prescription for each product, in their order; all have the same polygons. Totals are sums of
 *   area × rate in the order of the polygons.
 * @throws {FieldError} `prescription/bad-limits`, `prescription/unit-invalid`, `prescription/units-overlap`.
 */
export function prescribePass<For extends Purpose>(input: PassInput<For>): BuiltPrescription<For>[] {
  const {ground, products} = input;
  const setbacks = (input.setbacks ?? []).filter((one) =>
    products.some(({product, nutrient}) => concerns(one, product, nutrient)),
  );
  const limits = products.map((one) => checkLimits(one.limits));
  checkGround(ground);
  const rated = products.map((one, p) => ratedGround(ground, one, p, (limits[p] as Checked).limits));
  const {layout, simplified} = layWithin(input, setbacks, rated);
  const overlapped = layout.polygons.map(({id, polygon}) => ({id, polygon}));
  refuseOverlaps(overlapped);
  return products.map((one, p): BuiltPrescription<For> => {
    const {product, nutrient, load} = one;
    const mine = rated[p] as Rated;
    const polygons = layout.polygons.map(({id, polygon, area, rates}): RatePolygon => {
      return {unit: id, polygon, area, rateLbPerAcre: rates[p] as number};
    });
    const unitRates = ground.map(({id, area, wants}, g) => {
      const level = mine.levels && {lbPerAcre: mine.rates[g] as number, of: mine.levels.length};
      const unit = {unit: id, polygons: openPolygons(layout, g), acres: area / SQUARE_METRES_PER_ACRE};
      return unitRate(unit, wants[p] as Want, product, nutrient, mine.limits, level);
    });
    const machineRates = mine.levels
      ? ground.map(({id, area, wants}) =>
          unitRate(
            {unit: id, polygons: [], acres: area / SQUARE_METRES_PER_ACRE},
            wants[p] as Want,
            product,
            nutrient,
            mine.limits,
          ),
        )
      : unitRates;
    const account = accountOf(ground, layout, p, mine.rates, setbacks, one, simplified !== undefined);
    const held = shiftOver(machineRates);
    const shiftedBy = {...held, ...(mine.levels && {levelsLb: mine.levelsLb}), ...account.shifts};
    const shiftedLb = Object.values(shiftedBy).reduce((sum, lb) => sum + lb, 0);
    const merging = input.merge && {...account.merging, ...mergeFacts(input.merge, layout)};
    const totals = totalsOf(polygons, product);
    const steps = rateSteps(polygons, input.largeStepLbPerAcre ?? 100);
    const supply = supplyOf(product, totals.productLb, load);
    const own = (exact: number): number => machineRate(exact, mine.limits).rateLbPerAcre;
    const spread = spreadOver(ground, layout, p, mine.machine, openShare(one, mine, setbacks), input.units, own);
    return {
      strategy: input.strategy,
      product,
      nutrient,
      polygons,
      limits: mine.limits,
      totals,
      shiftedLb,
      issues: [
        ...(limits[p] as Checked).issues,
        ...(one.issues ?? []),
        ...heldIssues(machineRates, product, mine.limits),
        ...(mine.levels ? levelIssues(product, mine.levels, mine.levelsLb, mine.acresLevelled) : []),
        ...setbackIssues(product, account.taken),
        ...(merging ? mergingIssues(product, merging) : []),
        ...(p === 0 ? simplifiedIssues(input.mostVertices, vertexCount(layout.polygons), simplified) : []),
        ...largeStepIssues(steps),
        ...machineReadiness(polygons.map(sizeOf)),
        ...loadIssues(product, supply, load),
      ],
      unitRates,
      shiftedBy,
      steps,
      spread,
      ...(mine.levels && {levels: mine.levels}),
      ...(setbacks.length > 0 && {setbacks: account.taken}),
      ...(merging && {merging}),
      ...(simplified && {simplified}),
      supply,
    };
  });
}

type Checked = ReturnType<typeof checkLimits>;

/** One product's rates on each ground. */
export interface Rated {
  readonly limits: MachineLimits;
  /** After the machine's limits, and after levels. */
  readonly machine: readonly number[];
  readonly rates: readonly number[];
  readonly levels?: readonly number[];
  readonly levelsLb: number;
  readonly acresLevelled: number;
}

function ratedGround(ground: readonly RatedGround[], one: PassProduct, p: number, limits: MachineLimits): Rated {
  const toMachine = (rate: number): number => machineRate(rate, limits).rateLbPerAcre;
  const machine = ground.map(({wants}) => toMachine((wants[p] as Want).exactLbPerAcre));
  const bare = {limits, machine, rates: machine, levelsLb: 0, acresLevelled: 0};
  if (one.levels === undefined) return bare;
  const acres = ground.map(({area}) => area / SQUARE_METRES_PER_ACRE);
  const rates = rateLevels(machine, acres, one.levels, toMachine);
  const moved = rates.map((rate, g) => rate - (machine[g] as number));
  return {
    ...bare,
    rates,
    levels: [...new Set(rates)].sort((a, b) => a - b),
    levelsLb: moved.reduce((sum, by, g) => sum + by * (acres[g] as number), 0),
    acresLevelled: moved.reduce((sum, by, g) => (by === 0 ? sum : sum + (acres[g] as number)), 0),
  };
}

/** Lays the polygons, with simpler borders when there are too many corners. */
function layWithin(
  input: PassInput,
  setbacks: readonly Setback[],
  rated: readonly Rated[],
): {layout: Layout; simplified?: Simplified} {
  const {products, merge, mostVertices = Infinity} = input;
  // Numbered as given, so that a setback has one name in the files of all passes.
  const names = setbacks.map((one) => `SETBACK${(input.setbacks ?? []).indexOf(one) + 1}`);
  const lay = (ground: readonly RatedGround[]): Layout =>
    layPolygons({
      ground,
      setbacks,
      names,
      merge,
      products: products.length,
      rateOf: (p, piece) => pieceRate(products[p] as PassProduct, rated[p] as Rated, piece, setbacks),
      toMachine: (p, mean) => {
        const {limits, levels} = rated[p] as Rated;
        return levels ? nearestLevel(levels, mean) : machineRate(mean, limits).rateLbPerAcre;
      },
    });
  const first = lay(input.ground);
  const before = vertexCount(first.polygons);
  if (before <= mostVertices) return {layout: first};
  let best: {layout: Layout; simplified: Simplified} | undefined;
  for (const toleranceM of TOLERANCES_M) {
    const ground = simplifyGround(input.ground, toleranceM);
    const layout = lay(ground);
    const after = vertexCount(layout.polygons);
    const moved = ground.reduce((sum, {area}, g) => sum + Math.abs(area - (input.ground[g] as RatedGround).area), 0);
    const acresMoved = moved / 2 / SQUARE_METRES_PER_ACRE;
    best = {layout, simplified: {mostVertices, before, after, toleranceM, acresMoved}};
    if (after <= mostVertices) break;
  }
  return best as NonNullable<typeof best>;
}

function pieceRate(
  {product, nutrient}: PassProduct,
  {rates, limits}: Rated,
  piece: Piece,
  setbacks: readonly Setback[],
): number {
  const open = rates[piece.ground] as number;
  return piece.setbacks.reduce((least, s) => {
    const setback = setbacks[s] as Setback;
    return concerns(setback, product, nutrient) ? Math.min(least, setbackRate(setback, open, limits)) : least;
  }, open);
}

/** Share of a change of a ground's own rate that reaches a piece: none where a setback fixes the rate. */
function openShare({product, nutrient}: PassProduct, {rates}: Rated, setbacks: readonly Setback[]) {
  return (piece: Piece): number =>
    piece.setbacks.reduce((least, s) => {
      const setback = setbacks[s] as Setback;
      if (!concerns(setback, product, nutrient)) return least;
      const {rate} = setback;
      if (rate === "zero") return 0;
      if ("share" in rate) return Math.min(least, rate.share);
      return rate.lbPerAcre < (rates[piece.ground] as number) ? 0 : least;
    }, 1);
}

/** Ids of the polygons in which a ground has open pieces. */
function openPolygons({pieces, polygonOf}: Layout, g: number): string[] {
  const ids = pieces.flatMap(({ground, setbacks}, i) =>
    ground === g && setbacks.length === 0 ? [polygonOf[i] as string] : [],
  );
  return [...new Set(ids)];
}

function mergeFacts(merge: MergeOptions, {merged, left}: Layout) {
  return {...merge, close: merged.close, small: merged.small, left};
}

function refuseOverlaps(polygons: readonly Pick<LaidPolygon, "id" | "polygon">[]): void {
  const overlap = findOverlaps(
    polygons.map((p) => p.polygon),
    LEAST_OVERLAP_M2,
  )[0];
  if (!overlap) return;
  const [a, b] = [polygons[overlap.first], polygons[overlap.second]] as [LaidPolygon, LaidPolygon];
  throw new FieldError(
    "prescription/units-overlap",
    `${a.id} and ${b.id} share ${overlap.areaM2.toFixed(0)} m² of ground.`,
    {place: {featureId: a.id}, hint: "Redraw them so that every spot has one rate."},
  );
}

/** Sums of area × rate, in the order of the polygons. */
function totalsOf(polygons: readonly RatePolygon[], product: Product): Prescription["totals"] {
  let area = 0;
  let productLb = 0;
  for (const polygon of polygons) {
    area += polygon.area;
    productLb += (polygon.area / SQUARE_METRES_PER_ACRE) * polygon.rateLbPerAcre;
  }
  const carried = (percent: number): number => productLb * (percent / 100);
  const {N, P2O5, K2O} = product.percent;
  return {
    area: squareMetres(area),
    productLb,
    meanLbPerAcre: area > 0 ? productLb / (area / SQUARE_METRES_PER_ACRE) : 0,
    nutrientLb: {N: carried(N), P2O5: carried(P2O5), K2O: carried(K2O)},
    ...(product.sulfurPct !== undefined && {sulfurLb: carried(product.sulfurPct)}),
    ...(product.lbPerGallon !== undefined && {gallons: productLb / product.lbPerGallon}),
  };
}

function sizeOf(p: RatePolygon): {id: string; areaM2: number; vertices: number; rate: number} {
  return {id: p.unit, areaM2: p.area, vertices: vertexCount([p]), rate: p.rateLbPerAcre};
}
