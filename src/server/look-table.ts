import type {YieldColumnProposal} from "../formats/propose-yield-columns.ts";
import type {YieldRole} from "../formats/yield-heading-words.ts";
import type {LabProposal} from "../lab/propose-mapping.ts";
import {columnName, proposeReading, type TableReading} from "../pipeline/propose-reading.ts";
import type {Table} from "../table.ts";
import {BUSHEL} from "../units/factors.ts";
import type {AttachAs, SourceCard, SourceColumn, SourceQuestion} from "./api-types.ts";

type Look = Pick<SourceCard, "columns" | "questions" | "looksLike" | "proposed">;

/** What a table looks like: a yield log, a lab report or points of anything measured, by the words of its headings. */
export function lookAtTable(table: Table, name: string): Look {
  const {asYield, asLab, isYield, isLab, readAs} = proposeReading(table);
  const {x, y} = asYield.columns;
  const hasPlaces = x !== undefined && y !== undefined;
  const looksLike: AttachAs[] = [
    ...(isYield ? (["yield"] as const) : []),
    ...(isLab ? (["lab"] as const) : []),
    ...(hasPlaces && !isYield ? (["points"] as const) : []),
  ];
  return {
    columns: columnsOf(table, readAs),
    questions: isYield ? yieldQuestions(asYield) : isLab ? labQuestions(asLab) : [],
    looksLike,
    proposed: {
      ...(isYield && {yield: yieldSettings(asYield, name)}),
      ...(isLab && {lab: labSettings(asLab)}),
      ...(hasPlaces && !isYield && {points: {x: columnName(x), y: columnName(y)}}),
    },
  };
}

const SAMPLES = 3;

function columnsOf({header, rows}: Table, readAs: TableReading["readAs"]): SourceColumn[] {
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
