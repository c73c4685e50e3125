import {type ProposedColumn, proposeYieldColumns, type YieldColumnProposal} from "../formats/propose-yield-columns.ts";
import {YIELD_ROLES, type YieldRole} from "../formats/yield-heading-words.ts";
import {type LabProposal, proposeMapping} from "../lab/propose-mapping.ts";
import type {Table} from "../table.ts";

/** What a table is taken for, by the words of its headings. */
export interface TableReading {
  readonly isYield: boolean;
  readonly isLab: boolean;
  readonly asYield: YieldColumnProposal;
  readonly asLab: LabProposal;
  /** What a column would be read as, in words; empty where nothing is known of it. */
  readonly readAs: (heading: string) => Reading;
}

/** A yield log has grain and places, a lab report has analytes; what has neither is a table like any other. */
export function proposeReading(table: Table): TableReading {
  const asYield = proposeYieldColumns(table.header, spreadOver(table.rows, ROWS_LOOKED_AT));
  const asLab = proposeMapping(table);
  const isYield = isLog(asYield);
  const isLab = !isYield && (asLab.layout === "long" || asLab.analytes.length > 0);
  return {isYield, isLab, asYield, asLab, readAs: isYield ? readAsYield(asYield) : readAsLab(asLab, isLab)};
}

export const columnName = (proposed: ProposedColumn): string =>
  typeof proposed === "string" ? proposed : proposed.column;

/** Rows from all over a file tell more than its first ones. */
const ROWS_LOOKED_AT = 400;
/** Grain and a place for it: what no other table has both of. */
function isLog({columns: {x, y, flow, mass, yield: given}}: YieldColumnProposal): boolean {
  return x !== undefined && y !== undefined && (flow !== undefined || mass !== undefined || given !== undefined);
}

function spreadOver<T>(rows: readonly T[], most: number): T[] {
  const every = Math.max(1, Math.floor(rows.length / most));
  return rows.filter((_, i) => i % every === 0).slice(0, most);
}

interface Reading {
  readonly readAs: string;
  readonly unit?: string;
  /** The same as a role of a yield log, an analyte, or "sample id". */
  readonly is?: string;
  readonly method?: string;
}

function readAsYield({columns}: YieldColumnProposal): (heading: string) => Reading {
  const roles = new Map<string, Reading>();
  for (const role of Object.keys(columns) as YieldRole[]) {
    const proposed = columns[role];
    if (proposed === undefined) continue;
    const unit = typeof proposed === "string" ? undefined : proposed.unit;
    const reading = {readAs: YIELD_ROLES[role].means, is: role, ...(unit !== undefined && {unit})};
    roles.set(columnName(proposed), reading);
  }
  return (heading) => roles.get(heading) ?? {readAs: ""};
}

function readAsLab({columns, analytes, sampleId}: LabProposal, isLab: boolean): (heading: string) => Reading {
  if (!isLab) return () => ({readAs: ""});
  return (heading) => {
    const {readAs = ""} = columns.find(({column}) => column === heading) ?? {};
    if (heading === sampleId) return {readAs, is: "sample id"};
    const {analyte, unit, method} = analytes.find(({column}) => column === heading) ?? {};
    return {
      readAs,
      ...(analyte !== undefined && {is: analyte}),
      ...(unit !== undefined && {unit}),
      ...(method !== undefined && {method}),
    };
  };
}
