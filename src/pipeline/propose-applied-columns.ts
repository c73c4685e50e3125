import {FieldError} from "../errors.ts";
import {clockFormatOf} from "../formats/clock-text.ts";
import {headerState} from "../formats/header-state.ts";
import {isUnitOf, unitInHeading} from "../formats/quantities.ts";
import {rateUnitInHeading} from "../prescription/as-applied/rate-unit.ts";
import type {Table} from "../table.ts";
import type {AppliedFiles} from "./job/as-applied.ts";

export type AppliedColumns = NonNullable<AppliedFiles["columns"]>;

const LOOKED_AT = 200;
const RATE = /appl|actual|as.?appl|^rate\b|_rate\b|\brate$/i;
/** What was asked for is not what was put out. */
const ASKED_FOR = /target|set.?point|planned|prescri|desired|control|^rx/i;

/**
 * Columns of an as-applied log by the words of their headings. Only what is certain is taken: one rate whose heading
 * says its unit; others only where their headings say a unit that fits.
 *
 * @throws {FieldError} `as-applied/columns-unclear` naming the headings to choose from.
 */
export function proposeAppliedColumns(table: Table, needsPosition: boolean): AppliedColumns {
  const {header, file} = table;
  const cells = (index: number): string[] => table.rows.slice(0, LOOKED_AT).map((row) => (row[index] as string).trim());
  const only = (fits: (name: string, index: number) => boolean): string | undefined => {
    const found = header.filter(fits);
    return found.length === 1 ? found[0] : undefined;
  };
  const withUnit = (words: RegExp, quantity: "length" | "mass") =>
    only((name) => words.test(name) && isUnitOf(quantity, unitInHeading(name) ?? ""));
  const rates = header.filter(
    (name) => RATE.test(name) && !ASKED_FOR.test(name) && rateUnitInHeading(name) !== undefined,
  );
  const mass = withUnit(/mass|weight|amount|product/i, "mass");
  const x = only((name) => /^(lon(gitude)?|x|easting)\b/i.test(name));
  const y = only((name) => /^(lat(itude)?|y|northing)\b/i.test(name));
  if (rates.length > 1 || (rates.length === 0 && mass === undefined)) {
    throw unclear(
      file,
      rates.length > 1
        ? `${quoted(rates)} could all be the rate.`
        : "No heading is a known word for a rate with its unit.",
      header,
    );
  }
  if (needsPosition && (x === undefined || y === undefined)) {
    throw unclear(file, "No two headings are known words for longitude and latitude.", header);
  }
  const time = only(
    (name, i) =>
      /time|date|stamp|utc/i.test(name) &&
      (clockFormatOf(cells(i)) !== undefined || isUnitOf("time", unitInHeading(name) ?? "")),
  );
  const state = only(
    (name, i) => /state|status|on.?off/i.test(name) && cells(i).every((c) => headerState(c) !== undefined),
  );
  const found = {
    ...(needsPosition && {x, y}),
    ...(rates[0] === undefined ? {mass} : {rate: rates[0]}),
    ...{time, swath: withUnit(/swath|width/i, "length"), distance: withUnit(/^dist/i, "length"), state},
  };
  return Object.fromEntries(Object.entries(found).filter(([, name]) => name !== undefined));
}

function unclear(file: string, message: string, header: readonly string[]): FieldError {
  return new FieldError("as-applied/columns-unclear", message, {
    place: {file},
    hint: `Name the columns in the job, as in "columns": {"rate": {"column": "...", "unit": "lb/ac"}}; headings are: ${header.slice(0, 20).join(", ")}.`,
  });
}

const quoted = (names: readonly string[]): string => names.map((name) => `"${name}"`).join(" and ");
