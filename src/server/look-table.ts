import {type ProposedColumn, proposeYieldColumns, type YieldColumnProposal} from "../formats/propose-yield-columns.ts";
import {YIELD_ROLES, type YieldRole} from "../formats/yield-heading-words.ts";
import {type LabProposal, proposeMapping} from "../lab/propose-mapping.ts";
import type {Table} from "../table.ts";
import {BUSHEL} from "../units/factors.ts";
import type {AttachAs, SourceCard, SourceColumn, SourceQuestion} from "./api-types.ts";

type Look = Pick<SourceCard, "columns" | "questions" | "looksLike" | "proposed">;

/** What a table looks like: a yield log, a lab report or points of anything measured, by the words of its headings. */
export function lookAtTable(table: Table, name: string): Look {
  const asYield = proposeYieldColumns(table.header, spreadOver(table.rows, ROWS_LOOKED_AT));
  const asLab = proposeMapping(table);
  const isYield = isLog(asYield);
  const isLab = !isYield && (asLab.layout === "long" || asLab.analytes.length > 0);
  const {x, y} = asYield.columns;
  const hasPlaces = x !== undefined && y !== undefined;
  const looksLike: AttachAs[] = [
    ...(isYield ? (["yield"] as const) : []),
    ...(isLab ? (["lab"] as const) : []),
    ...(hasPlaces && !isYield ? (["points"] as const) : []),
  ];
  return {
    columns: columnsOf(table, isYield ? readAsYield(asYield) : readAsLab(asLab, isLab)),
    questions: isYield ? yieldQuestions(asYield) : isLab ? labQuestions(asLab) : [],
    looksLike,
    proposed: {
      ...(isYield && {yield: yieldSettings(asYield, name)}),
      ...(isLab && {lab: labSettings(asLab)}),
      ...(hasPlaces && !isYield && {points: {x: columnName(x), y: columnName(y)}}),
    },
  };
}

/** Rows from all over a file tell more than its first ones. */
const ROWS_LOOKED_AT = 400;
const SAMPLES = 3;

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
}

function columnsOf({header, rows}: Table, readAs: (heading: string) => Reading): SourceColumn[] {
  return header.map((heading, i) => {
    const filled: string[] = [];
    for (const row of rows) {
      const cell = (row[i] ?? "").trim();
      if (cell !== "" && !filled.includes(cell)) filled.push(cell);
      if (filled.length === SAMPLES) break;
    }
    return {heading, sample: filled, ...readAs(heading)};
  });
}

function readAsYield({columns}: YieldColumnProposal): (heading: string) => Reading {
  const roles = new Map<string, Reading>();
  for (const role of Object.keys(columns) as YieldRole[]) {
    const proposed = columns[role];
    if (proposed === undefined) continue;
    const unit = typeof proposed === "string" ? undefined : proposed.unit;
    roles.set(columnName(proposed), {readAs: YIELD_ROLES[role].means, ...(unit !== undefined && {unit})});
  }
  return (heading) => roles.get(heading) ?? {readAs: ""};
}

function readAsLab({columns, analytes}: LabProposal, isLab: boolean): (heading: string) => Reading {
  if (!isLab) return () => ({readAs: ""});
  return (heading) => {
    const {readAs = ""} = columns.find(({column}) => column === heading) ?? {};
    const unit = analytes.find(({column}) => column === heading)?.unit;
    return {readAs, ...(unit !== undefined && {unit})};
  };
}

function yieldQuestions({questions}: YieldColumnProposal): SourceQuestion[] {
  return questions.map(({about, role, message, choices}) => ({about, role, message, choices}));
}

function labQuestions({questions}: LabProposal): SourceQuestion[] {
  return questions.map(({about, column, message, choices}) => ({
    about,
    ...(column !== undefined && {column}),
    message,
    choices,
  }));
}

/** Crop and year stand in no log, but often in its name. */
function yieldSettings({columns, questions}: YieldColumnProposal, name: string): Record<string, unknown> {
  const words = name.toLowerCase().split(/[^a-z]+/);
  const crop = Object.keys(BUSHEL).find((known) => words.includes(known) || words.includes(`${known}s`));
  // A role with several columns is for a person to settle; a unit that is open only waits beside its column.
  const open = questions.filter(({about}) => about !== "unit").map(({role}) => role);
  const settled = Object.fromEntries(Object.entries(columns).filter(([role]) => !open.includes(role as YieldRole)));
  const year = /(?:^|\D)((?:19|20)\d\d)(?:\D|$)/.exec(name)?.[1];
  return {
    ...(crop && {crop}),
    ...(year && {season: Number(year)}),
    delay: "estimate",
    ...(Object.keys(settled).length > 0 && {columns: settled}),
  };
}

function labSettings({sampleId, analytes, questions, layout}: LabProposal): Record<string, unknown> {
  const open = questions.some(({about}) => about !== "depth");
  return {
    ...(sampleId !== undefined && {sampleId}),
    ...(layout === "wide" && !open && {analytes}),
  };
}

const columnName = (proposed: ProposedColumn): string => (typeof proposed === "string" ? proposed : proposed.column);
