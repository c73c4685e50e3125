import {FieldError, type Issue} from "../errors.ts";
import {invalidReason} from "../geo/geos.ts";
import {areaM2, polygonAreaM2} from "../geo/measure.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingUnit, Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatArea} from "../units/format.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import {someOf} from "./count-words.ts";
import {findOverlaps} from "./find-overlaps.ts";
import {checkLimits} from "./machine-rate.ts";
import {machineReadiness} from "./machine-readiness.ts";
import type {BuiltPrescription, MachineLimits, Prescription, Product, RatePolygon, UnitRate} from "./prescription.ts";
import {largeStepIssues, rateSteps} from "./rate-steps.ts";
import {heldIssues, shiftOver, unitRate} from "./unit-rate.ts";

export interface PrescriptionInput {
  readonly strategy: Strategy;
  /** Valid, without overlap, as a sampling plan holds them. `area` is the area acres are counted by. */
  readonly units: readonly Pick<SamplingUnit, "id" | "shape" | "area">[];
  /** One per unit, or a single one for `"whole field"`. Other nutrients are passed over. */
  readonly recommendations: readonly Pick<Recommendation, "unit" | "nutrient" | "rateLbPerAcre">[];
  readonly product: Product;
  /** The nutrient the product is bought for. */
  readonly nutrient: Nutrient;
  readonly limits: MachineLimits;
  /** What to do about a unit without a recommendation. Default: refuse. */
  readonly missing?: "refuse" | "zero";
  /** Changes between neighbours above this are counted as large, lb/ac. Default 100; an assumption, no source. */
  readonly largeStepLbPerAcre?: number;
}

const WHOLE_FIELD = "whole field";
/** Shared ground below this is rounding of coordinates. */
const LEAST_OVERLAP_M2 = 1;

/**
 * Product rates a machine can spread, from nutrient rates per sampling unit.
 *
 * product lb/ac = nutrient lb/ac ÷ (percent ÷ 100), rounded to the machine's step, then limited. What rounding and
 * limits moved is counted in lb. Units in several pieces become several polygons; the unit's area is shared out by
 * the pieces' area in the plane, so that polygons add up to the unit exactly as its plan measured it.
 *
 * Not a spreading plan: setbacks, loads and timing are not in it.
 *
 * @returns Totals are sums of area × rate over the polygons in the order of the units.
 * @throws {FieldError} `prescription/product-lacks-nutrient`, `prescription/bad-limits`, `prescription/no-rate`,
 *   `prescription/bad-rate`, `prescription/two-rates`, `prescription/unit-invalid`, `prescription/units-overlap`.
 */
export function buildPrescription(input: PrescriptionInput): BuiltPrescription {
  const {strategy, units, product, nutrient} = input;
  if (!(product.percent[nutrient] > 0)) {
    throw new FieldError("prescription/product-lacks-nutrient", `${product.analysis} holds no ${nutrient}.`, {
      hint: `Choose a product for ${nutrient}, or name the nutrient this one is for.`,
    });
  }
  const {limits, issues: limitIssues} = checkLimits(input.limits);
  const {rates, issues: rateIssues} = ratesByUnit(input);
  const pieces = piecesOf(units);
  const unitRates = units.map((unit, i) => {
    const polygons = (pieces[i] as Piece[]).map((piece) => piece.id);
    const acres = unit.area / SQUARE_METRES_PER_ACRE;
    return unitRate({unit: unit.id, polygons, acres}, rates[i] as number, product, nutrient, limits);
  });
  const polygons = pieces.flatMap((ofUnit, i) => {
    const {rateLbPerAcre} = unitRates[i] as UnitRate;
    return ofUnit.map(({id, polygon, area}): RatePolygon => ({unit: id, polygon, area, rateLbPerAcre}));
  });
  refuseOverlaps(polygons);
  const shiftedBy = shiftOver(unitRates);
  const steps = rateSteps(polygons, input.largeStepLbPerAcre ?? 100);
  return {
    strategy,
    product,
    nutrient,
    polygons,
    limits,
    totals: totalsOf(polygons, product),
    shiftedLb: shiftedBy.roundingLb + shiftedBy.minimumLb + shiftedBy.maximumLb,
    issues: [
      ...limitIssues,
      ...rateIssues,
      ...heldIssues(unitRates, product, limits),
      ...largeStepIssues(steps),
      ...machineReadiness(polygons.map(sizeOf)),
    ],
    unitRates,
    shiftedBy,
    steps,
  };
}

/** The nutrient rate of each unit, in the order of the units. */
function ratesByUnit(input: PrescriptionInput): {rates: number[]; issues: Issue[]} {
  const {units, nutrient} = input;
  const given = new Map<string, number>();
  for (const {unit, nutrient: which, rateLbPerAcre} of input.recommendations) {
    if (which !== nutrient) continue;
    if (!(rateLbPerAcre >= 0 && rateLbPerAcre < Infinity)) {
      throw new FieldError("prescription/bad-rate", `${unit} has a rate of ${rateLbPerAcre} lb ${nutrient}/ac.`, {
        hint: "A rate is zero or more; check the recommendation.",
      });
    }
    if (given.has(unit)) {
      throw new FieldError("prescription/two-rates", `${unit} has two recommendations for ${nutrient}.`, {
        hint: "Keep one guide and one result for each unit.",
      });
    }
    given.set(unit, rateLbPerAcre);
  }
  const pooled = given.get(WHOLE_FIELD);
  if (pooled !== undefined && given.size > 1) {
    throw new FieldError("prescription/two-rates", `There are rates for the whole field and for single units.`, {
      hint: "Use one rate for the whole field, or one for each unit.",
    });
  }
  const known = new Set(units.map((unit) => unit.id));
  const strangers = [...given.keys()].filter((unit) => unit !== WHOLE_FIELD && !known.has(unit));
  const lacking = pooled === undefined ? units.filter((unit) => !given.has(unit.id)).map((unit) => unit.id) : [];
  if (lacking.length > 0 && (input.missing !== "zero" || lacking.length === units.length)) {
    throw new FieldError(
      "prescription/no-rate",
      `${someOf(lacking)} ${lacking.length === 1 ? "has" : "have"} no recommendation for ${nutrient}.`,
      {hint: 'Give their lab results, or set units without a rate to zero ("missing": "zero").'},
    );
  }
  const issues: Issue[] = [];
  if (lacking.length > 0) {
    const area = units.reduce((sum, unit) => (lacking.includes(unit.id) ? sum + unit.area : sum), 0);
    issues.push({
      code: "prescription/no-rate",
      severity: "warning",
      message: `${someOf(lacking)} (${formatArea(area)}) without a recommendation for ${nutrient}: set to zero.`,
      hint: "Give their lab results if they should be spread.",
    });
  }
  if (strangers.length > 0) {
    issues.push({
      code: "prescription/unknown-unit",
      severity: "warning",
      message: `Recommendations for ${someOf(strangers)} match no unit of this plan and were left out.`,
      hint: "Check that plan and lab results belong together.",
    });
  }
  return {rates: units.map((unit) => pooled ?? given.get(unit.id) ?? 0), issues};
}

interface Piece {
  readonly id: string;
  readonly polygon: RatePolygon["polygon"];
  readonly area: SquareMetres;
}

/** Each unit's single-part polygons, named after it without two names alike. */
function piecesOf(units: PrescriptionInput["units"]): Piece[][] {
  const taken = new Set(units.map((unit) => unit.id));
  if (taken.size !== units.length) throw new Error("two units with one id");
  return units.map((unit) => {
    const planar = areaM2(unit.shape);
    // A part in a thousand is far above what the frame's scale explains and far below a mix-up of units.
    if (!(Math.abs(unit.area / planar - 1) < 1e-3))
      throw new Error(`unit ${unit.id}: its area is not that of its shape`);
    const bad = invalidReason(unit.shape);
    if (bad) {
      throw new FieldError(
        "prescription/unit-invalid",
        `${unit.id} is not a valid shape: ${bad.reason.toLowerCase()}.`,
        {
          place: {featureId: unit.id},
          hint: "Redraw it so that its outline does not cross or touch itself.",
        },
      );
    }
    let suffix = 2;
    return unit.shape.map((polygon, i): Piece => {
      let id = unit.id;
      if (i > 0) {
        while (taken.has(`${unit.id}-${suffix}`)) suffix++;
        id = `${unit.id}-${suffix}`;
        taken.add(id);
      }
      return {id, polygon, area: squareMetres((unit.area * polygonAreaM2(polygon)) / planar)};
    });
  });
}

function refuseOverlaps(polygons: readonly RatePolygon[]): void {
  const overlap = findOverlaps(
    polygons.map((p) => p.polygon),
    LEAST_OVERLAP_M2,
  )[0];
  if (!overlap) return;
  const [a, b] = [polygons[overlap.first] as RatePolygon, polygons[overlap.second] as RatePolygon];
  throw new FieldError(
    "prescription/units-overlap",
    `${a.unit} and ${b.unit} share ${overlap.areaM2.toFixed(0)} m² of ground.`,
    {place: {featureId: a.unit}, hint: "Redraw them so that every spot has one rate."},
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
  const vertices = p.polygon.reduce((sum, ring) => sum + ring.length - 1, 0);
  return {id: p.unit, areaM2: p.area, vertices, rate: p.rateLbPerAcre};
}
