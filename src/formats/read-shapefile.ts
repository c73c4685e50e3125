import {FieldError, type Issue, withPlace} from "../errors.ts";
import {type Crs, crsFromWkt} from "../geo/crs.ts";
import type {Feature, FeatureSet, Geometry} from "../geo/features.ts";
import type {LonLat, LonLatRing} from "../geo/shapes.ts";
import {formatNumber} from "../units/format.ts";
import {toDegrees} from "./degrees.ts";
import type {FileSet, Read} from "./file-set.ts";
import {groupRings} from "./group-rings.ts";
import {parseShapes, type RawShape} from "./parse-shp.ts";
import {type DbfRow, readDbf} from "./read-dbf.ts";
import {twiceArea, wind} from "./rings.ts";
import {findMembers, type ShapefileMembers} from "./shapefile-members.ts";
import {checkShx, readShpLayout} from "./shp-layout.ts";
import {type Kind, makeTally, type Tally} from "./tally.ts";
import {readText} from "./text.ts";

type Remark = "shp/null-shape" | "shp/deleted-row" | "shp/flat-ring" | "shp/ring-closed" | "shp/winding";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "shp/null-shape": {severity: "warning", says: "Left out for want of a shape"},
  "shp/deleted-row": {severity: "note", says: "Left out because the attribute row is marked as deleted"},
  "shp/flat-ring": {severity: "warning", says: "Left out a ring without area"},
  "shp/ring-closed": {severity: "note", says: "Closed an open ring by joining its last corner to its first"},
  "shp/winding": {
    severity: "warning",
    says: "Sorted outer rings and holes by which lies inside which, because rings run the wrong way round",
    hint: "Check the holes of those shapes on a map.",
  },
};

/**
 * A shapefile: loose members or a zip.
 *
 * Geometry is parsed by shpjs behind checks of our own, attributes by our own reader, and nothing here is shared with
 * the writer, so reading a written file back is a proof of the writer.
 *
 * @param name - The zip, or the `.shp` of loose files.
 * @param options.layer - Which shapefile of a zip that holds several.
 * @param options.crs - The coordinate system where the user named one; it overrules the `.prj`.
 * @throws {FieldError} `shp/no-crs` when neither the user nor a `.prj` says it, `shp/count` when shapes and rows differ
 *   in number, `shp/not-a-number`, and what the readers of the members refuse.
 */
export function readShapefile(
  files: FileSet,
  name: string,
  options: {readonly layer?: string | undefined; readonly crs?: Crs | undefined} = {},
): Read<FeatureSet> {
  const members = findMembers(files, name, options.layer);
  const file = `${members.stem.split("/").at(-1)}.shp`;
  const issues: Issue[] = [];
  const layout = readShpLayout(members.shp, file);
  if (members.shx) checkShx(members.shx, layout, `${file.slice(0, -4)}.shx`);
  else issues.push(missing(file, "shx", "note", "The index is not needed to read it."));
  const crs = options.crs ?? crsOf(members, file);
  if (crs.remark) issues.push({...crs.remark, place: {file}});
  const shapes = parseShapes(members.shp, layout);
  if (shapes.length !== layout.records.length) throw new Error(`${file}: shpjs lost records`);
  const rows = readRows(members, shapes.length, file, issues);
  const tally = makeTally<Remark>("record", {file}, KINDS);
  const features: Feature[] = [];
  shapes.forEach((shape, i) => {
    const row = rows === undefined ? {} : rows[i];
    if (row === undefined) tally.add("shp/deleted-row", i + 1);
    const geometry = row && withPlace({file}, () => readShape(shape, i + 1, tally, file));
    if (row && geometry) features.push({geometry, properties: row});
  });
  return {
    value: {name: members.stem.split("/").at(-1) as string, features: toDegrees(features, crs, file)},
    issues: [...issues, ...tally.issues()],
  };
}

function crsOf(members: ShapefileMembers, file: string): Crs {
  if (!members.prj) {
    throw new FieldError("shp/no-crs", `${file} has no .prj beside it, so its coordinate system is unknown.`, {
      place: {file},
      hint: 'Add the .prj, or name the coordinate system in the job, as in "crs": "EPSG:4326".',
    });
  }
  const prj = `${file.slice(0, -4)}.prj`;
  const text = readText(members.prj, prj).value;
  return withPlace({file: prj}, () => crsFromWkt(text));
}

function readRows(
  members: ShapefileMembers,
  count: number,
  file: string,
  issues: Issue[],
): readonly DbfRow[] | undefined {
  const dbf = `${file.slice(0, -4)}.dbf`;
  if (!members.dbf) {
    issues.push(missing(file, "dbf", "warning", "Shapes were read without attributes."));
    return undefined;
  }
  const cpg = members.cpg && readText(members.cpg, `${file.slice(0, -4)}.cpg`).value;
  const {value: rows, issues: found} = readDbf(members.dbf, dbf, cpg);
  if (rows.length !== count) {
    throw new FieldError(
      "shp/count",
      `${file} has ${formatNumber(count)} shapes but its .dbf has ${formatNumber(rows.length)} rows.`,
      {place: {file}, hint: "Export the layer again: shapes and attributes no longer belong together."},
    );
  }
  issues.push(...found);
  return rows;
}

function missing(file: string, ending: string, severity: Issue["severity"], so: string): Issue {
  return {
    code: `shp/no-${ending}`,
    severity,
    message: `${file} has no .${ending} beside it. ${so}`,
    place: {file},
    hint: `Give the .${ending} too.`,
  };
}

function readShape(shape: RawShape | null, number: number, tally: Tally<Remark>, file: string): Geometry | undefined {
  if (!shape) {
    tally.add("shp/null-shape", number);
    return undefined;
  }
  const lines = "points" in shape ? [shape.points] : shape.parts;
  if (!lines.every((line) => line.every(([x, y]) => Number.isFinite(x) && Number.isFinite(y)))) {
    throw new FieldError("shp/not-a-number", `Record ${number} of ${file} has a coordinate that is not a number.`, {
      place: {file},
      hint: "Repair or delete that shape and export the layer again.",
    });
  }
  switch (shape.shapeClass) {
    case "point":
      return {type: "Point", coordinates: shape.points[0] as LonLat};
    case "multipoint":
      return {type: "MultiPoint", coordinates: shape.points};
    case "line": {
      const [first, ...others] = shape.parts.filter((part) => part.length >= 2);
      if (!first) tally.add("shp/null-shape", number);
      if (!first || others.length === 0) return first && {type: "LineString", coordinates: first};
      return {type: "MultiLineString", coordinates: [first, ...others]};
    }
    case "polygon":
      return readPolygon(shape.parts, number, tally);
  }
}

function readPolygon(
  parts: readonly (readonly LonLat[])[],
  number: number,
  tally: Tally<Remark>,
): Geometry | undefined {
  const rings: LonLatRing[] = [];
  for (const part of parts) {
    const ring = closed(part);
    if (ring !== part) tally.add("shp/ring-closed", number);
    if (ring.length >= 4 && twiceArea(ring) !== 0) rings.push(ring);
    else tally.add("shp/flat-ring", number);
  }
  const {polygons, misWound} = groupRings(rings);
  if (misWound && rings.length > 1) tally.add("shp/winding", number);
  const wound = polygons.map((polygon) => wind(polygon, "counter-clockwise"));
  const [first, ...others] = wound;
  if (!first) {
    tally.add("shp/null-shape", number);
    return undefined;
  }
  return others.length === 0 ? {type: "Polygon", coordinates: first} : {type: "MultiPolygon", coordinates: wound};
}

function closed(ring: LonLatRing): LonLatRing {
  const first = ring[0];
  const last = ring.at(-1);
  return first && last && (first[0] !== last[0] || first[1] !== last[1]) ? [...ring, first] : ring;
}
