import {METRES_PER_INCH, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {evidenceTables} from "./evidence-tables.ts";
import {ledgerTables} from "./ledger-tables.ts";
import type {ReportModel} from "./report-model.ts";
import type {ReportTable} from "./report-table.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";

/** Every table of the reports, in the order of the record. Each is also a CSV. */
export function reportTables(model: ReportModel): ReportTable[] {
  return [...ledgerTables(model), ...evidenceTables(model), unitTable(model), ...inputTables(model), issueTable(model)];
}

function unitTable({strategies}: ReportModel): ReportTable {
  const products = strategies[0]?.prescriptions.map(({product, nutrient}) => ({...product, nutrient})) ?? [];
  const nutrients = [...new Set(strategies.flatMap(({recommendations}) => recommendations.map((r) => r.nutrient)))];
  return {
    id: "units",
    title: "Sampling units, their tests and rates",
    columns: [
      {name: "strategy", head: "strategy"},
      {name: "unit", head: "unit"},
      {name: "label", head: "label"},
      {name: "ac", head: "ac", decimals: 2},
      {name: "cores", head: "cores", decimals: 0},
      {name: "depth_in", head: "depth, in", decimals: 1},
      ...nutrients.flatMap((nutrient) => [
        {name: `test_${nutrient}`, head: `test for ${nutrient}`, decimals: 1},
        {name: `class_${nutrient}`, head: `class for ${nutrient}`},
        {name: `need_${nutrient}_lb_per_ac`, head: `${nutrient}, lb/ac`, decimals: 1},
      ]),
      ...products.map(({code, analysis}) => ({name: `${code}_lb_per_ac`, head: `${analysis}, lb/ac`, decimals: 0})),
    ],
    rows: strategies.flatMap(({plan, recommendations, prescriptions}) =>
      plan.units.map((unit) => [
        STRATEGY_NAMES[plan.strategy],
        unit.id,
        unit.label,
        unit.area / SQUARE_METRES_PER_ACRE,
        unit.cores.length,
        plan.depth / METRES_PER_INCH,
        ...nutrients.flatMap((nutrient) => {
          const found = recommendations.find(
            (r) => r.nutrient === nutrient && (r.unit === unit.id || r.unit === "whole field"),
          );
          return [found?.test.value, found?.testClass, found?.rateLbPerAcre];
        }),
        ...products.map(({analysis, nutrient}) => {
          const made = prescriptions.find((p) => p.product.analysis === analysis && p.nutrient === nutrient);
          // A pooled plan has one rate, whatever its one unit is called.
          const got = plan.pooled ? made?.spread[0] : made?.spread.find((other) => other.unit === unit.id);
          return got?.meanLbPerAcre;
        }),
      ]),
    ),
  };
}

function inputTables({record}: ReportModel): ReportTable[] {
  return [
    {
      id: "inputs",
      title: "Inputs",
      columns: [
        {name: "file", head: "file"},
        {name: "bytes", head: "bytes", decimals: 0},
        {name: "sha256", head: "SHA-256"},
      ],
      rows: record.inputs.map(({name, bytes, sha256}) => [name, bytes, sha256]),
    },
    {
      id: "steps",
      title: "Steps of the run",
      columns: [
        {name: "step", head: "step"},
        {name: "inputs", head: "made from"},
        {name: "seed", head: "seed"},
        {name: "options", head: "options"},
      ],
      rows: record.steps.map(({step, inputs, seed, options}) => [
        step,
        inputs.join(", "),
        seed === undefined ? undefined : String(seed),
        JSON.stringify(options),
      ]),
    },
  ];
}

function issueTable({issues}: ReportModel): ReportTable {
  const order = {error: 0, warning: 1, note: 2};
  return {
    id: "issues",
    title: "Remarks",
    columns: [
      {name: "severity", head: "kind"},
      {name: "message", head: "what"},
      {name: "hint", head: "what to do"},
      {name: "place", head: "where"},
      {name: "code", head: "code"},
    ],
    rows: [...issues]
      .sort((a, b) => order[a.severity] - order[b.severity])
      .map(({severity, message, hint, place, code}) => [severity, message, hint, placeText(place), code]),
  };
}

function placeText(place: ReportModel["issues"][number]["place"]): string | undefined {
  if (!place) return undefined;
  const {file, row, column, featureId} = place;
  const parts = [file, row === undefined ? undefined : `row ${row}`, column, featureId];
  const text = parts.filter((part) => part !== undefined).join(", ");
  return text === "" ? undefined : text;
}
