import {FieldError, type Issue} from "../errors.ts";
import {type Crs, isWgs84, transformBetween, WGS84} from "../geo/crs.ts";
import type {Table} from "../table.ts";
import {checkDegrees, checkProjected, MOST_LAT} from "./degrees.ts";
import {type Kind, makeTally} from "./tally.ts";

type Remark = "points/no-position" | "points/at-zero" | "points/impossible-position";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "points/no-position": {severity: "warning", says: "No position"},
  "points/at-zero": {severity: "warning", says: "Position 0, 0, which receivers write when they have none, not used"},
  "points/impossible-position": {severity: "warning", says: "Position at a pole or not on the earth at all, not used"},
};

/**
 * Coordinates of a table's rows in longitude and latitude; NaN in both where a row has no usable position.
 *
 * Blank rows are passed over. A few wild positions are a receiver's and are remarked on.
 *
 * @param x, y - In the units of `crs`, NaN where a cell is no number.
 * @throws {FieldError} `points/no-positions`, and where most positions are wild `crs/swapped`, `crs/not-degrees` or
 *   `crs/outside`; `crs/not-projected`.
 */
export function toPositions(
  table: Table,
  x: Float64Array,
  y: Float64Array,
  crs: Crs,
  issues: Issue[],
): {lon: Float64Array; lat: Float64Array} {
  const convert = isWgs84(crs) ? undefined : transformBetween(crs.definition, WGS84.definition).forward;
  const tally = makeTally<Remark>("row", {file: table.file}, KINDS);
  const lon = new Float64Array(x.length).fill(Number.NaN);
  const lat = new Float64Array(x.length).fill(Number.NaN);
  let used = 0;
  let mostX = 0;
  let mostY = 0;
  for (let i = 0; i < x.length; i++) {
    const east = x[i] as number;
    const north = y[i] as number;
    if (Number.isNaN(east + north)) {
      if (table.rows[i]?.some((cell) => cell.trim() !== "")) tally.add("points/no-position", table.firstRow + i);
    } else if (isNowhere(east, north, crs)) {
      tally.add("points/at-zero", table.firstRow + i);
    } else {
      mostX = Math.max(mostX, Math.abs(east));
      mostY = Math.max(mostY, Math.abs(north));
      const [a, b] = convert ? convert(east, north) : [east, north];
      if (Math.abs(a) <= 180 && Math.abs(b) <= MOST_LAT) {
        lon[i] = a;
        lat[i] = b;
        used++;
      } else {
        tally.add("points/impossible-position", table.firstRow + i);
      }
    }
  }
  if (tally.count("points/impossible-position") > used) {
    if (!convert) checkDegrees(mostX, mostY, table.file);
    throw new FieldError("crs/outside", `Most positions of ${table.file} are no places in ${crs.name}.`, {
      place: {file: table.file},
      hint: "Check which coordinate system the file is in, and that easting and northing are not swapped.",
    });
  }
  if (used === 0) {
    throw new FieldError("points/no-positions", `Not one row of ${table.file} has a position.`, {
      place: {file: table.file},
      hint: "Check which columns hold the coordinates.",
      issues: tally.issues(),
    });
  }
  if (convert) checkProjected(crs, mostX, mostY, table.file);
  issues.push(...tally.issues());
  return {lon, lat};
}

/** 0, 0 is a receiver without a fix, except in metres about a point of the user's own choice. */
function isNowhere(x: number, y: number, crs: Crs): boolean {
  if (crs.units === "degrees") return Math.abs(x) + Math.abs(y) < 0.01;
  return x === 0 && y === 0 && !crs.name.startsWith("local metres");
}
