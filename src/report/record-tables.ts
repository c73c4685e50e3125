import {METRES_PER_INCH, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {evidenceTables} from "./evidence-tables.ts";
import {ledgerTables} from "./ledger-tables.ts";
import type {ReportModel} from "./report-model.ts";
import {type ReportTable, type TableOf, tableOf} from "./report-table.ts";
import {STRATEGY_NAMES} from "./say-sure.ts";

/** Every table of the reports, in the order of the record. Each is also a CSV. */
export function reportTables(model: ReportModel): ReportTable[] {
  return [...ledgerTables(model), ...evidenceTables(model), unitTable(model), ...inputTables(model), issueTable(model)];
}

function unitTable({strategies}: ReportModel): ReportTable {
  const rated = strategies.find(({prescriptions}) => prescriptions.length > 0);
  const products = rated?.prescriptions.map(({product, nutrient}) => ({...product, nutrient})) ?? [];
  const nutrients = [...new Set(strategies.flatMap(({recommendations}) => recommendations.map((r) => r.nutrient)))];
  return tableOf({
    id: "units",
    title: "Sampling units, their tests and rates",
    items: strategies.flatMap((strategy) => strategy.plan.units.map((unit) => ({...strategy, unit}))),
    columns: [
      {name: "strategy", head: "strategy", cell: ({plan}) => STRATEGY_NAMES[plan.strategy]},
      {name: "unit", head: "unit", cell: ({unit}) => unit.id},
      {name: "label", head: "label", cell: ({unit}) => unit.label},
      {name: "ac", head: "ac", decimals: 2, cell: ({unit}) => unit.area / SQUARE_METRES_PER_ACRE},
      {name: "cores", head: "cores", decimals: 0, cell: ({unit}) => unit.cores.length},
      {name: "depth_in", head: "depth, in", decimals: 1, cell: ({plan}) => plan.depth / METRES_PER_INCH},
      ...nutrients.flatMap((nutrient): UnitColumn[] => {
        const found = ({unit, recommendations}: UnitRow) =>
          recommendations.find((r) => r.nutrient === nutrient && (r.unit === unit.id || r.unit === "whole field"));
        return [
          {name: `test_${nutrient}`, head: `test for ${nutrient}`, decimals: 1, cell: (row) => found(row)?.test.value},
          {name: `class_${nutrient}`, head: `class for ${nutrient}`, cell: (row) => found(row)?.testClass},
          {
            name: `need_${nutrient}_lb_per_ac`,
            head: `${nutrient}, lb/ac`,
            decimals: 1,
            cell: (row) => found(row)?.rateLbPerAcre,
          },
        ];
      }),
      ...products.map(
        ({code, analysis, nutrient}): UnitColumn => ({
          name: `${code}_lb_per_ac`,
          head: `${analysis}, lb/ac`,
          decimals: 0,
          cell: ({plan, unit, prescriptions}) => {
            const made = prescriptions.find((p) => p.product.analysis === analysis && p.nutrient === nutrient);
            // A pooled plan has one rate, whatever its one unit is called.
            const got = plan.pooled ? made?.spread[0] : made?.spread.find((other) => other.unit === unit.id);
            return got?.meanLbPerAcre;
          },
        }),
      ),
    ],
  });
}

type UnitRow = ReportModel["strategies"][number] & {
  readonly unit: ReportModel["strategies"][number]["plan"]["units"][number];
};
type UnitColumn = TableOf<UnitRow>["columns"][number];

function inputTables({record}: ReportModel): ReportTable[] {
  return [
    tableOf({
      id: "inputs",
      title: "Inputs",
      items: record.inputs,
      columns: [
        {name: "file", head: "file", cell: ({name}) => name},
        {name: "bytes", head: "bytes", decimals: 0, cell: ({bytes}) => bytes},
        {name: "sha256", head: "SHA-256", cell: ({sha256}) => sha256},
      ],
    }),
    tableOf({
      id: "steps",
      title: "Steps of the run",
      items: record.steps,
      columns: [
        {name: "step", head: "step", cell: ({step}) => step},
        {name: "inputs", head: "made from", cell: ({inputs}) => inputs.join(", ")},
        {name: "seed", head: "seed", cell: ({seed}) => (seed === undefined ? undefined : String(seed))},
        {name: "options", head: "options", cell: ({options}) => JSON.stringify(options)},
      ],
    }),
  ];
}

function issueTable({issues}: ReportModel): ReportTable {
  const order = {error: 0, warning: 1, note: 2};
  return tableOf({
    id: "issues",
    title: "Remarks",
    items: [...issues].sort((a, b) => order[a.severity] - order[b.severity]),
    columns: [
      {name: "severity", head: "kind", cell: ({severity}) => severity},
      {name: "message", head: "what", cell: ({message}) => message},
      {name: "hint", head: "what to do", cell: ({hint}) => hint},
      {name: "place", head: "where", cell: ({place}) => placeText(place)},
      {name: "code", head: "code", cell: ({code}) => code},
    ],
  });
}

function placeText(place: ReportModel["issues"][number]["place"]): string | undefined {
  if (!place) return undefined;
  const {file, row, column, featureId} = place;
  const parts = [file, row === undefined ? undefined : `row ${row}`, column, featureId];
  const text = parts.filter((part) => part !== undefined).join(", ");
  return text === "" ? undefined : text;
}
