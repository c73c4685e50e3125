import type {Comparison} from "../compare/comparison.ts";
import type {Issue} from "../errors.ts";
import {multiPolygonToLonLat} from "../geo/frame.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {WorkingStep} from "../recommend/recommendation.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import type {Book} from "./book.ts";
import {addRow, addRows, type Row} from "./rows.ts";
import type {RunOf, StrategyToKeep} from "./save-run.ts";

// Part of saving a run: lab results, rates, prescriptions and the ledger.

/** Lab results by unit, and the recommendations with every line of their working. */
export function keepRates({db}: Book, {runId}: RunOf, {plan, values, recommendations, lime}: StrategyToKeep): void {
  const {strategy} = plan;
  const of = {run_id: runId, strategy};
  addRows(
    db,
    "soil_tests",
    [...values].flatMap(([unit, tests]) =>
      tests.map(
        ({analyte, value, unit: valueUnit, method, depthM, from}): Row => ({
          cells: {...of, unit, analyte, value, value_unit: valueUnit, method, depth_m: depthM, origin: from},
        }),
      ),
    ),
  );
  for (const {unit, nutrient, rateLbPerAcre, test, testClass, guide, working, issues} of recommendations) {
    const id = addRow(db, "recommendations", {
      ...of,
      unit,
      nutrient,
      rate: rateLbPerAcre,
      rate_unit: `lb/ac ${nutrient}`,
      test: test.value,
      test_unit: test.unit,
      test_method: test.method,
      class: testClass,
      guide: guide.id,
      edition: guide.edition,
      issues: issuesText(issues),
    });
    keepWorking(db, runId, id, working);
  }
  for (const {unit, tonPerAcre, material, method, working, issues} of lime) {
    const id = addRow(db, "recommendations", {
      ...of,
      unit,
      nutrient: "lime",
      rate: tonPerAcre,
      rate_unit: `ton/ac ${material}`,
      guide: method.id,
      edition: method.title,
      issues: issuesText(issues),
    });
    keepWorking(db, runId, id, working);
  }
}

export function keepPrescriptions(
  {db}: Book,
  {runId, field, shapeCells}: RunOf,
  prescriptions: readonly BuiltPrescription[],
): void {
  for (const {strategy, product, nutrient, polygons, limits, totals} of prescriptions) {
    const id = addRow(db, "prescriptions", {
      run_id: runId,
      strategy,
      product: product.code,
      analysis: product.analysis,
      nutrient,
      polygons: polygons.length,
      total_lb: totals.productLb,
      mean_lb_ac: totals.meanLbPerAcre,
      outside_lb_ac: limits.outsideLbPerAcre,
      limits: JSON.stringify(limits),
    });
    addRows(
      db,
      "rate_polygons",
      polygons.map(({unit, polygon, area, rateLbPerAcre}) => ({
        cells: {
          ...shapeCells,
          prescription_id: id,
          strategy,
          product: product.code,
          unit,
          rate_lb_ac: rateLbPerAcre,
          acres: roundHalfAway(area / SQUARE_METRES_PER_ACRE, 4),
        },
        geometry: {type: "Polygon", coordinates: multiPolygonToLonLat(field.frame, [polygon])[0] ?? []},
      })),
    );
  }
}

export function keepComparison({db}: Book, {runId}: RunOf, {rows}: Comparison): void {
  for (const {strategy, samples, cores, products, samplingCost, totalCost} of rows) {
    const row = {
      run_id: runId,
      strategy,
      samples,
      cores,
      sampling_dollars: samplingCost,
      strategy_dollars: totalCost,
    };
    if (products.length === 0) addRow(db, "comparisons", row);
    for (const {code, totalLb, meanLbPerAcre, cost} of products) {
      addRow(db, "comparisons", {
        ...row,
        product: code,
        total_lb: totalLb,
        mean_lb_ac: meanLbPerAcre,
        product_dollars: cost,
      });
    }
  }
}

function keepWorking(db: Book["db"], runId: number, recommendation: number, working: readonly WorkingStep[]): void {
  addRows(
    db,
    "workings",
    working.map(({text, value, unit, source, basis}, i) => ({
      cells: {
        run_id: runId,
        recommendation_id: recommendation,
        position: i + 1,
        text,
        value: Number.isFinite(value) ? value : null,
        value_unit: unit,
        source,
        basis,
      },
    })),
  );
}

const issuesText = (issues: readonly Issue[]): string => JSON.stringify(issues);
