import {FieldError} from "../errors.ts";
import type {Table} from "../table.ts";
import {nearestName} from "../units/nearest-name.ts";
import {ANALYTES, findAnalyte, findMethod, findUnit} from "./analytes.ts";
import type {Analyte, Method, SoilTestUnit} from "./soil-test.ts";

/** What each column of a lab's table means. Nothing is guessed from headings. */
export interface LabMapping {
  /** Column that holds the sample id. */
  readonly sampleId: string;
  /** Lower end of the sampled layer, metres. */
  readonly depthM: number;
  readonly analytes: readonly AnalyteColumn[];
  /** Takes only the rows whose cells read so: one field of a report on many, one depth of two. */
  readonly only?: readonly {readonly column: string; readonly is: string}[];
}

/** Unit and method must be given; the types let them be absent because mappings are written by people. */
export interface AnalyteColumn {
  readonly analyte: string;
  readonly column: string;
  /** As in "ppm", "lb/ac", "meq/100 g", "pH". */
  readonly unit?: string | undefined;
  /** Extractant and detection, as in "mehlich-3 icp". */
  readonly method?: string | undefined;
}

/** A mapping whose words have been understood and whose columns have been found. */
export interface Mapped {
  readonly sampleId: {readonly index: number; readonly column: string};
  readonly depthM: number;
  readonly analytes: readonly MappedColumn[];
  readonly only: readonly {readonly index: number; readonly column: string; readonly is: string}[];
}

export interface MappedColumn {
  readonly index: number;
  readonly column: string;
  readonly analyte: Analyte;
  readonly unit: SoilTestUnit;
  readonly method: Method;
}

/**
 * Finds the columns of a mapping and checks every word in it against the table's own headings.
 *
 * @throws {FieldError} `lab/no-column`, `lab/column-twice`, `lab/no-analyte`, `lab/oxide`, `lab/no-unit`,
 *   `lab/no-method`, `lab/unit-differs`, `lab/method-differs`, `lab/bad-depth`, `lab/analyte-twice`.
 */
export function resolveMapping(table: Table, mapping: LabMapping): Mapped {
  if (!(mapping.depthM > 0 && mapping.depthM <= 3)) {
    throw new FieldError("lab/bad-depth", `A sampling depth of ${mapping.depthM} m is not possible.`, {
      place: {file: table.file},
      hint: 'Give the lower end of the sampled layer, as in "8 in".',
    });
  }
  if (mapping.analytes.length === 0) {
    throw new FieldError("lab/no-analyte", `No column of ${table.file} was named as a result.`, {
      hint: "Name at least one analyte with its column, unit and method.",
    });
  }
  const analytes = mapping.analytes.map((entry) => resolveColumn(table, entry));
  refuseTwice(table, analytes);
  return {
    sampleId: {index: findColumn(table, mapping.sampleId), column: mapping.sampleId},
    depthM: mapping.depthM,
    analytes,
    only: (mapping.only ?? []).map(({column, is}) => ({index: findColumn(table, column), column, is})),
  };
}

/** The one column of that name: written exactly so, or else but for case and outer spaces. */
export function findColumn(table: Table, column: string): number {
  const loose = (text: string): string => text.trim().toLowerCase();
  for (const same of [(h: string) => h === column, (h: string) => loose(h) === loose(column)]) {
    const found = table.header.flatMap((h, i) => (same(h) ? [i] : []));
    if (found.length > 1) {
      throw new FieldError("lab/column-twice", `${found.length} columns of ${table.file} are called "${column}".`, {
        place: {file: table.file, row: 1, column},
        hint: "Give the columns different names in the file.",
      });
    }
    if (found.length === 1) return found[0] as number;
  }
  const nearest = nearestName(column, table.header);
  throw new FieldError("lab/no-column", `${table.file} has no column "${column}".`, {
    place: {file: table.file, row: 1, column},
    hint: nearest ? `Did you mean "${nearest}"?` : `Use one of: ${table.header.join(", ")}.`,
  });
}

function resolveColumn(table: Table, entry: AnalyteColumn): MappedColumn {
  const {column} = entry;
  const place = {file: table.file, row: 1, column};
  const index = findColumn(table, column);
  const heading = bareHeading(table.header[index] as string);
  if ([entry.analyte, entry.unit ?? "", heading].some((text) => /p2o5|k2o/i.test(text))) {
    throw new FieldError("lab/oxide", `Column "${column}" is a soil test given as an oxide (P2O5 or K2O).`, {
      place,
      hint: "Ask the lab for elemental P and K: soil tests are elemental, only fertilizer is in oxides.",
    });
  }
  const analyte = findAnalyte(entry.analyte);
  if (!analyte) {
    throw new FieldError("lab/no-analyte", `"${entry.analyte}" is not an analyte this program knows.`, {
      place,
      hint: `Use one of: ${Object.keys(ANALYTES).join(", ")}.`,
    });
  }
  const {units, methods} = ANALYTES[analyte];
  const unit = findUnit(entry.unit ?? "");
  if (!unit || !units.includes(unit)) {
    throw new FieldError("lab/no-unit", `Column "${column}" (${analyte}) ${saysWhat("unit", entry.unit)}.`, {
      place,
      hint: `Say which unit the lab reports: ${units.map((u) => (u === "mg/kg" ? "ppm (mg/kg)" : u)).join(", ")}.`,
    });
  }
  const method = findMethod(entry.method ?? "");
  if (!method || !methods.includes(method)) {
    throw new FieldError("lab/no-method", `Column "${column}" (${analyte}) ${saysWhat("method", entry.method)}.`, {
      place,
      hint: `Say how the lab measured it: ${methods.join(", ")}.`,
    });
  }
  const mapped = {index, column, analyte, unit, method};
  const headingUnit = unitInHeading(heading);
  if (headingUnit) refuseOtherUnit(table, mapped, headingUnit, 1);
  if (headingDenies(heading, method)) {
    throw new FieldError(
      "lab/method-differs",
      `The heading "${table.header[index]}" names another method than the given "${method}".`,
      {place, hint: "Give the method the lab used; results of different methods are different numbers."},
    );
  }
  return mapped;
}

/** Stops when the file itself names another unit than the mapping. */
export function refuseOtherUnit(table: Table, column: MappedColumn, found: SoilTestUnit, row: number): void {
  if (found === column.unit) return;
  throw new FieldError(
    "lab/unit-differs",
    `The file says that column "${column.column}" is in ${found}, the mapping says ${column.unit}.`,
    {place: {file: table.file, row, column: column.column}, hint: `Give the unit "${found}", or correct the file.`},
  );
}

/** The concentration unit a heading names, as in "P (ppm)" or "K_lbs/A"; undefined when it names none. */
export function unitInHeading(heading: string): SoilTestUnit | undefined {
  // "pH" in a heading is an analyte, not a unit.
  return heading
    .split(" ")
    .map((word) => findUnit(word))
    .find((unit) => unit !== undefined && unit !== "pH");
}

export function bareHeading(heading: string): string {
  return heading
    .toLowerCase()
    .replaceAll(/\s*\/\s*/g, "/")
    .replaceAll(/[\s_()[\],;:]+/g, " ")
    .trim();
}

const METHOD_WORDS: readonly (readonly {readonly word: RegExp; readonly fits: (method: Method) => boolean}[])[] = [
  [
    {word: /\bbray\b/, fits: (m) => m.startsWith("bray")},
    {word: /\b(olsen|bicarb|bicarbonate)\b/, fits: (m) => m === "olsen"},
    {word: /\b(m3|mehlich[ -]?(3|iii))\b/, fits: (m) => m.startsWith("mehlich-3")},
    {word: /\b(m1|mehlich[ -]?(1|i))\b/, fits: (m) => m === "mehlich-1"},
    {word: /\b(nh4oac|acetate)\b/, fits: (m) => m.startsWith("ammonium acetate")},
  ],
  [
    {word: /\bicp\b/, fits: (m) => !m.endsWith("colorimetric")},
    {word: /\b(colorimetric|spectrophotometric)\b/, fits: (m) => !m.endsWith("icp")},
  ],
];

/** True when the heading names extractants or detections, and the given method is none of them. */
function headingDenies(heading: string, method: Method): boolean {
  return METHOD_WORDS.some((group) => {
    const named = group.filter(({word}) => word.test(heading));
    return named.length > 0 && !named.some(({fits}) => fits(method));
  });
}

function saysWhat(what: string, given: string | undefined): string {
  return given ? `cannot have the ${what} "${given}"` : `has no ${what}`;
}

function refuseTwice(table: Table, columns: readonly MappedColumn[]): void {
  columns.forEach((one, i) => {
    for (const other of columns.slice(0, i)) {
      if (one.index !== other.index && (one.analyte !== other.analyte || one.method !== other.method)) continue;
      const message =
        one.index === other.index
          ? `Column "${one.column}" is named as ${other.analyte} and as ${one.analyte}.`
          : `Columns "${other.column}" and "${one.column}" are both ${one.analyte} by ${one.method}.`;
      throw new FieldError("lab/analyte-twice", message, {
        place: {file: table.file, row: 1, column: one.column},
        hint: "Name one column for each analyte and method.",
      });
    }
  });
}
