import type {YieldColumnProposal} from "../formats/propose-yield-columns.ts";
import type {YieldRole} from "../formats/yield-heading-words.ts";
import type {LabProposal} from "../lab/propose-mapping.ts";
import {columnName, proposeReading, type TableReading} from "../pipeline/propose-reading.ts";
import type {Table} from "../table.ts";
import {BUSHEL} from "../units/factors.ts";
import {parseNumber} from "../units/number.ts";
import type {AttachAs, SourceCard, SourceColumn, SourceQuestion} from "./api-types.ts";

type Look = Pick<SourceCard, "columns" | "questions" | "ids" | "positions" | "looksLike" | "proposed">;

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
    ...(isLab && asLab.sampleId !== undefined && {ids: idsIn(table, asLab.sampleId)}),
    ...(hasPlaces && placesIn(table, columnName(x), columnName(y))),
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

function idsIn({header, rows}: Table, column: string): NonNullable<SourceCard["ids"]> {
  const at = header.indexOf(column);
  const found = rows.map((cells) => (cells[at] ?? "").trim()).filter((id) => id !== "");
  return {column, of: [...new Set(found)].slice(0, MOST_IDS)};
}

const MOST_IDS = 5000;

/** Nothing where they are no degrees. */
function placesIn({header, rows}: Table, x: string, y: string): Pick<Look, "positions"> {
  const [atX, atY] = [header.indexOf(x), header.indexOf(y)];
  const every = Math.max(1, Math.ceil(rows.length / POSITIONS));
  const positions = rows.flatMap((cells, i): (readonly [number, number])[] => {
    if (i % every !== 0) return [];
    const [lon, lat] = [parseNumber(cells[atX] ?? ""), parseNumber(cells[atY] ?? "")];
    return Math.abs(lon) <= 180 && Math.abs(lat) <= 90 && (lon !== 0 || lat !== 0) ? [[lon, lat]] : [];
  });
  return positions.length > 0 ? {positions} : {};
}

const POSITIONS = 300;

function yieldQuestions({questions}: YieldColumnProposal): SourceQuestion[] {
  return questions.map(({about, role, message, choices}) => ({about, role, message, choices}));
}

/** The depth is asked for where the file does not give it. */
function labQuestions({questions, depth}: LabProposal): SourceQuestion[] {
  const open = depth === undefined ? questions : questions.filter(({about}) => about !== "depth");
  return open.map(({about, column, message, choices}) => ({
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

function labSettings({sampleId, analytes, questions, layout, depth}: LabProposal): Record<string, unknown> {
  const open = questions.some(({about}) => about !== "depth");
  return {
    ...(sampleId !== undefined && {sampleId}),
    ...(depth !== undefined && {depth}),
    ...(layout === "wide" && !open && {analytes}),
  };
}
