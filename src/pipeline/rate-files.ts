import {FieldError, type Issue} from "../errors.ts";
import {readGeoPackage} from "../formats/geopackage/read-geopackage.ts";
import type {SqliteHost} from "../formats/geopackage/sqlite.ts";
import {writeGeoPackage} from "../formats/geopackage/write-geopackage.ts";
import {readGeoJson} from "../formats/read-geojson.ts";
import {readShapefile} from "../formats/read-shapefile.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import {writeShapefile} from "../formats/write-shapefile.ts";
import type {Feature, FeatureSet} from "../geo/features.ts";
import type {Field} from "../geo/field.ts";
import type {LonLatPolygon} from "../geo/shapes.ts";
import {checkPrescription} from "../prescription/check-prescription.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {ReadBackPolygon, Receipt} from "../prescription/receipt.ts";
import type {Job} from "./job.ts";
import {CAUTION} from "./run-record.ts";
import {taskDataFile} from "./task-data-file.ts";
import {rateColumn, rateFeatures} from "./to-features.ts";

export type HandOver = NonNullable<Job["handOver"]>;
export type RateFormat = HandOver["formats"][number];

/** What a rate file is written with besides the rates. */
export interface RateFileOptions {
  readonly formats: readonly RateFormat[];
  /** Each product in a file of its own, also where polygons are the same. */
  readonly separate?: boolean;
  readonly task?: HandOver["task"];
  readonly farm?: string | undefined;
  /** Needed for GeoPackages. */
  readonly sqlite?: (() => Promise<SqliteHost>) | undefined;
}

export interface RateFiles {
  readonly files: Map<string, Uint8Array>;
  readonly receipts: Receipt[];
  readonly issues: Issue[];
}

const DEFAULT_FORMATS: readonly RateFormat[] = ["geojson", "shapefile"];

/**
 * The prescription files of one strategy, and the proof that they hold what was decided: each is read back by its
 * format's reader and compared polygon by polygon.
 *
 * Products that share their polygons share a file with a column each; one whose polygons differ (merged or set back in
 * its own way) gets a file of its own, named by its code. Task data holds all of them, a task for each set of polygons.
 *
 * @throws {FieldError} `hand-over/no-sqlite`, and what the writers refuse.
 */
export async function rateFiles(
  field: Field,
  prescriptions: readonly BuiltPrescription[],
  options: RateFileOptions = {formats: DEFAULT_FORMATS},
): Promise<RateFiles> {
  const out: RateFiles = {files: new Map(), receipts: [], issues: []};
  const groups = sharingPolygons(prescriptions, options.separate);
  for (const [i, group] of groups.entries()) {
    const [first] = group as [BuiltPrescription];
    const name = `rates-${first.strategy}${i === 0 ? "" : `-${first.product.code.toLowerCase()}`}`;
    for (const format of options.formats) {
      if (format !== "iso 11783-10") await addVectorFile(field, group, name, format, options, out);
    }
  }
  if (options.formats.includes("iso 11783-10") && groups.length > 0) {
    const written = taskDataFile(field, groups, options.task, options.farm);
    for (const [file, bytes] of written.files) out.files.set(file, bytes);
    out.receipts.push(...written.receipts);
    out.issues.push(...written.issues);
  }
  const failed = out.receipts.find(({passed}) => !passed);
  if (failed) throw new Error(`a file we wrote does not hold what was decided: ${JSON.stringify(failed.checks)}`);
  return out;
}

async function addVectorFile(
  field: Field,
  prescriptions: readonly BuiltPrescription[],
  name: string,
  format: Exclude<RateFormat, "iso 11783-10">,
  options: RateFileOptions,
  {files, receipts, issues}: RateFiles,
): Promise<void> {
  const set = {name, features: rateFeatures(field.frame, prescriptions)};
  const {file, bytes, found, remarks} = await FORMATS[format](field, prescriptions, set, options);
  files.set(file, bytes);
  issues.push(...remarks);
  receipts.push(
    ...prescriptions.map((prescription) =>
      checkPrescription(
        prescription,
        found.map((f) => polygonOf(f, rateColumn(prescription.product.code))),
        {frame: field.frame, file, positionToleranceM: ROUNDING_M},
      ),
    ),
  );
}

/** Nine decimals of a degree: a corner moves by up to 0.08 mm. */
export const ROUNDING_M = 1e-4;

interface Written {
  readonly file: string;
  readonly bytes: Uint8Array;
  /** As the format's reader finds it. */
  readonly found: readonly Feature[];
  readonly remarks: readonly Issue[];
}

type Write = (
  field: Field,
  prescriptions: readonly BuiltPrescription[],
  set: FeatureSet,
  options: RateFileOptions,
) => Promise<Written>;

const FORMATS: Readonly<Record<Exclude<RateFormat, "iso 11783-10">, Write>> = {
  geojson: async (field, prescriptions, set) => {
    const file = `${set.name}.geojson`;
    const bytes = writeGeoJson(set, {loamwright: aboutRates(field, prescriptions)});
    return {file, bytes, found: (await readGeoJson(bytes, file)).value.features, remarks: []};
  },
  shapefile: async (_, prescriptions, set) => {
    const file = `${set.name}.zip`;
    const {value, issues} = writeShapefile(set, [
      {name: "UNIT", type: "C", width: 16},
      {name: "ACRES", type: "N", width: 14, decimals: 6},
      ...prescriptions.map(
        ({product}) => ({name: rateColumn(product.code), type: "N", width: 10, decimals: 2}) as const,
      ),
    ]);
    const found = readShapefile(new Map([[file, value.zip]]), file).value.features;
    return {file, bytes: value.zip, found, remarks: issues};
  },
  geopackage: async (_, prescriptions, set, {sqlite}) => {
    const file = `${set.name}.gpkg`;
    if (!sqlite) {
      throw new FieldError("hand-over/no-sqlite", "Nothing here can write a GeoPackage.", {
        hint: "Leave it out of handOver.formats.",
      });
    }
    const host = await sqlite();
    const description = prescriptions.map(({product}) => `${rateColumn(product.code)}: lb of ${product.name} per acre`);
    const {value, issues} = writeGeoPackage(host, [
      {
        ...set,
        description: `${description.join("; ")}. ${CAUTION}`,
        columns: [
          {name: "UNIT", type: "TEXT"},
          {name: "ACRES", type: "REAL"},
          ...prescriptions.map(({product}) => ({name: rateColumn(product.code), type: "REAL"}) as const),
        ],
      },
    ]);
    return {file, bytes: value, found: (await readGeoPackage(host, value, file)).value.features, remarks: issues};
  },
};

/**
 * Prescriptions by the polygons they have in common, in the order of the first of each. Lime goes with no other product:
 * another machine spreads it.
 */
function sharingPolygons(prescriptions: readonly BuiltPrescription[], separate = false): BuiltPrescription[][] {
  const groups: BuiltPrescription[][] = [];
  for (const prescription of prescriptions) {
    const isLime = prescription.nutrient === "lime";
    const group = separate
      ? undefined
      : groups.find(([first]) => first && (first.nutrient === "lime") === isLime && samePolygons(first, prescription));
    if (group) group.push(prescription);
    else groups.push([prescription]);
  }
  return groups;
}

function samePolygons({polygons: a}: BuiltPrescription, {polygons: b}: BuiltPrescription): boolean {
  if (a.length !== b.length) return false;
  return a.every(({unit, polygon}, i) => {
    const other = b[i];
    if (!other || other.unit !== unit) return false;
    return other.polygon === polygon || JSON.stringify(other.polygon) === JSON.stringify(polygon);
  });
}

function polygonOf({geometry, properties}: Feature, column: string): ReadBackPolygon {
  const shape: LonLatPolygon[] =
    geometry.type === "Polygon"
      ? [geometry.coordinates]
      : geometry.type === "MultiPolygon"
        ? [...geometry.coordinates]
        : [];
  const id = properties.UNIT;
  const rate = properties[column];
  return {shape, rateLbPerAcre: typeof rate === "number" ? rate : Number.NaN, ...(typeof id === "string" && {id})};
}

/** What the columns are, for whoever opens the GeoJSON without its covering letter. */
function aboutRates(field: Field, prescriptions: readonly BuiltPrescription[]): Record<string, unknown> {
  return {
    field: field.name,
    kind: "prescription",
    products: prescriptions.map(({product, nutrient, totals, limits}) => ({
      column: rateColumn(product.code),
      unit: "lb of product per acre",
      product: product.name,
      analysis: product.analysis,
      nutrient,
      totalLb: Math.round(totals.productLb * 1000) / 1000,
      outsideLbPerAcre: limits.outsideLbPerAcre,
    })),
    caution: CAUTION,
  };
}
