import {FieldError} from "../errors.ts";
import type {FeatureSet} from "../geo/features.ts";
import type {LonLat, LonLatRing} from "../geo/shapes.ts";
import type {FileSet, Read} from "./file-set.ts";
import {wind} from "./rings.ts";
import {settlePolygon, settlePosition} from "./settle.ts";
import {encodeUtf8} from "./text.ts";
import {type DbfColumn, type DbfDate, dbfNames, writeDbf} from "./write-dbf.ts";
import {type Shapes, writeShp} from "./write-shp.ts";
import {zip} from "./zip.ts";

export interface WrittenShapefile {
  /** All members at the root of a zip, as controllers want it. */
  readonly zip: Uint8Array;
  readonly members: FileSet;
  /** The name each column got in the file. */
  readonly fieldNames: readonly string[];
}

/** WGS 84 in the dialect every reader of shapefiles knows: 145 bytes, no line break. */
const PRJ =
  'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';

/**
 * A zipped shapefile in longitude and latitude, one record for each feature: polygons with clockwise outer rings and
 * counter-clockwise holes, or points.
 *
 * Coordinates are rounded as in the GeoJSON of the same features, so both carry equal numbers. Same input, same bytes.
 *
 * @param set - Its name becomes the name of the members: letters, digits, `-` and `_`, at most 40.
 * @throws {FieldError} `export/empty`, `export/mixed-shapes`, `export/collapsed`, `export/number-too-wide`.
 */
export function writeShapefile(
  set: FeatureSet,
  columns: readonly DbfColumn[],
  options: {readonly dated?: DbfDate} = {},
): Read<WrittenShapefile> {
  const {name, features} = set;
  if (!/^[a-z0-9][a-z0-9_-]{0,39}$/i.test(name)) throw new Error(`"${name}" cannot name a shapefile`);
  const {shp, shx} = writeShp(shapesOf(set));
  const table = writeDbf(
    features.map(({properties}) => properties),
    columns,
    name,
    options.dated,
  );
  const members: FileSet = new Map([
    [`${name}.shp`, shp],
    [`${name}.shx`, shx],
    [`${name}.dbf`, table.value],
    [`${name}.prj`, encodeUtf8(PRJ)],
    [`${name}.cpg`, encodeUtf8("UTF-8")],
  ]);
  const fieldNames = dbfNames(columns.map((column) => column.name));
  return {value: {zip: zip(members), members, fieldNames}, issues: table.issues};
}

/** A name for files of every kind and system: "Kiln Forty, N½" to "kiln-forty-n", never empty. */
export function fileStem(text: string): string {
  const bare = text
    .normalize("NFKD")
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 40)
    .replace(/-+$/, "");
  // Names that one operating system keeps for devices.
  return bare === "" || /^(con|prn|aux|nul|com\d|lpt\d)$/.test(bare) ? `file${bare && "-"}${bare}` : bare;
}

function shapesOf({name, features}: FeatureSet): Shapes {
  const first = features[0];
  if (!first) {
    throw new FieldError("export/empty", `There is nothing to write to ${name}.`, {
      hint: "Check that the field has polygons or points to export.",
    });
  }
  if (first.geometry.type === "Point") {
    const shapes: LonLat[] = features.map(({geometry}) => {
      if (geometry.type !== "Point") throw mixed(name, geometry.type);
      return settlePosition(geometry.coordinates);
    });
    return {type: "POINT", shapes};
  }
  const shapes: LonLatRing[][] = features.map(({geometry}, i) => {
    const what = `Feature ${i + 1} of ${name}`;
    if (geometry.type !== "Polygon" && geometry.type !== "MultiPolygon") throw mixed(name, geometry.type);
    const polygons = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates;
    return polygons.flatMap((polygon) => wind(settlePolygon(polygon, what), "clockwise"));
  });
  return {type: "POLYGON", shapes};
}

function mixed(name: string, type: string): FieldError {
  return new FieldError(
    "export/mixed-shapes",
    `${name} holds a ${type}; a shapefile holds polygons only, or points only.`,
    {
      hint: "Write each kind of shape to a file of its own.",
    },
  );
}
