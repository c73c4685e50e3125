import {FieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {encodeUtf8} from "../formats/text.ts";
import {unzip} from "../formats/zip.ts";
import type {Field} from "../geo/field.ts";
import {toLonLat} from "../geo/frame.ts";
import {pointOnSurface} from "../geo/geos.ts";
import type {BuiltPrescription, RatePolygon} from "../prescription/prescription.ts";
import {applicatorSheetHtml, type SheetProduct} from "../report/applicator-sheet.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import {given} from "./given.ts";
import type {Host} from "./host.ts";
import type {Job} from "./job.ts";
import type {HandOver, RateFileOptions} from "./rate-files.ts";
import {CAUTION} from "./run-record.ts";
import {rateColumn} from "./to-features.ts";

/** One strategy with the rate files written for it. */
export interface RatedFiles {
  readonly strategy: Strategy;
  readonly prescriptions: readonly BuiltPrescription[];
  readonly files: ReadonlyMap<string, Uint8Array>;
}

const FOLDER = "hand-over";
const BASIS: Readonly<Record<Strategy, string>> = {
  "whole-field": "one rate for the field",
  grid: "rates by grid sampling",
  zone: "rates by zone sampling",
};
/** What a file is for, by its ending. */
const PURPOSE: readonly (readonly [RegExp, string])[] = [
  [/\.geojson$/, "office programs"],
  [/\.zip$/, "controllers that read shapefiles"],
  [/\.gpkg$/, "office programs"],
  [/TASKDATA\.XML$/, "ISO 11783 terminals: copy the folder TASKDATA to the root of the stick"],
  [/\.BIN$/, "part of TASKDATA"],
];

/** What the job's rate files are written with. Formats and defaults: GeoJSON and shapefile. */
export function rateFileOptions({handOver, farm, machine}: Job, {sqlite}: Pick<FileSet, "sqlite">): RateFileOptions {
  return {
    formats: handOver?.formats ?? ["geojson", "shapefile"],
    ...given({task: handOver?.task}),
    separate: machine.files === "separate",
    farm,
    sqlite,
  };
}

/**
 * The folder that goes to the applicator: rate files of one strategy, task data unpacked as terminals want it, a sheet
 * on paper, and the checksums of all of them.
 *
 * @returns Nothing unless the job asks for the folder; names begin with `hand-over/`.
 * @throws {FieldError} `hand-over/which-strategy`, `hand-over/no-rates`.
 */
export async function handOverFolder(
  job: Job,
  field: Field,
  rated: readonly RatedFiles[],
  host: Host,
): Promise<Map<string, Uint8Array>> {
  const {handOver} = job;
  if (!handOver?.folder) return new Map();
  const {prescriptions, files, strategy} = chosen(handOver, rated);
  const inside = unpacked(files);
  const sums = new Map<string, string>();
  for (const [name, bytes] of inside) sums.set(name, await host.sha256(bytes));
  const warnings = prescriptions.flatMap(({product, issues}) =>
    issues.filter(({severity}) => severity !== "note").map(({message}) => `${product.analysis}: ${message}`),
  );
  const sheet = applicatorSheetHtml(
    {
      farm: job.farm,
      field: field.name,
      areaM2: field.area,
      outline: field.outline,
      basis: BASIS[strategy],
      products: prescriptions.map((prescription) => sheetProduct(field, prescription)),
      setbacks: [...new Set(prescriptions.flatMap(setbackLines))],
      cautions: [CAUTION, ...new Set(warnings)],
      files: [...sums].map(([name, sha256]) => ({name, sha256, what: purposeOf(name)})),
    },
    handOver.paper,
  );
  inside.set("applicator-sheet.html", encodeUtf8(sheet));
  sums.set("applicator-sheet.html", await host.sha256(inside.get("applicator-sheet.html") as Uint8Array));
  // The form that `sha256sum --check` reads.
  inside.set("SHA256SUMS", encodeUtf8([...sums].map(([name, sum]) => `${sum}  ${name}\n`).join("")));
  return new Map([...inside].map(([name, bytes]) => [`${FOLDER}/${name}`, bytes]));
}

/** A machine must not find three maps of one field: the folder holds those of one strategy. */
function chosen({strategy}: HandOver, rated: readonly RatedFiles[]): RatedFiles {
  const withRates = rated.filter(({prescriptions}) => prescriptions.length > 0);
  const names = withRates.map((one) => one.strategy).join(", ");
  if (withRates.length === 0) {
    throw new FieldError("hand-over/no-rates", "There are no rates to hand over.", {
      hint: 'Name lab results, crops and products in the job, or leave "handOver.folder" out.',
    });
  }
  if (strategy === undefined) {
    if (withRates.length === 1) return withRates[0] as RatedFiles;
    throw new FieldError("hand-over/which-strategy", `The job has rates of several strategies: ${names}.`, {
      hint: 'Say which one goes to the applicator, as in "handOver": {"strategy": "zone"}.',
    });
  }
  const found = withRates.find((one) => one.strategy === strategy);
  if (found) return found;
  throw new FieldError("hand-over/which-strategy", `The job has no rates of the ${strategy} strategy, but: ${names}.`, {
    hint: "Name one of these under handOver.strategy.",
  });
}

/** Terminals read a folder, not a zip. */
function unpacked(files: ReadonlyMap<string, Uint8Array>): Map<string, Uint8Array> {
  return new Map(
    [...files].flatMap(([name, bytes]): [string, Uint8Array][] =>
      name.startsWith("taskdata-") ? [...unzip(bytes, name)] : [[name, bytes]],
    ),
  );
}

function sheetProduct(field: Field, prescription: BuiltPrescription): SheetProduct {
  const {product, polygons, totals, limits} = prescription;
  const highest = polygons.reduce((a, b) => (b.rateLbPerAcre > a.rateLbPerAcre ? b : a)) as RatePolygon;
  return {
    analysis: product.analysis,
    name: product.name,
    column: rateColumn(product.code),
    polygons,
    totalLb: totals.productLb,
    gallons: totals.gallons,
    outsideLbPerAcre: limits.outsideLbPerAcre,
    lostPositionLbPerAcre: limits.lostPositionLbPerAcre,
    loads: loadsText(prescription),
    place: toLonLat(field.frame, pointOnSurface(highest.polygon)),
  };
}

/** "3 loads: 2 of 12,000 lb, the last of 3,100 lb". */
function loadsText({supply: {loads}}: BuiltPrescription): string | undefined {
  if (!loads || loads.count === 0) return undefined;
  const {count, lbPerLoad, lastLb} = loads;
  if (count === 1) return `1 load of ${formatNumber(lastLb)} lb`;
  return `${formatNumber(count)} loads: ${formatNumber(count - 1)} of ${formatNumber(lbPerLoad)} lb, the last of ${formatNumber(lastLb)} lb`;
}

/** "ditch (ditch): 0-0-60 at 0 lb/ac on 0.40 ac". */
function setbackLines({product, setbacks = []}: BuiltPrescription): string[] {
  return setbacks.map(({name, kind, acres, lb}) => {
    const rate = acres > 0 ? lb / acres : 0;
    return `${name}${name === kind ? "" : ` (${kind})`}: ${product.analysis} ${rate === 0 ? "nothing" : `${formatShort(rate, 1)} lb/ac`} on ${formatNumber(acres, 2)} ac`;
  });
}

const purposeOf = (name: string): string => PURPOSE.find(([pattern]) => pattern.test(name))?.[1] ?? "";
