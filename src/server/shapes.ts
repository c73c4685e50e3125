import type {DifferenceMap} from "../compare/difference-map.ts";
import type {FileSet} from "../formats/file-set.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import {multiPolygonToLonLat} from "../geo/frame.ts";
import {rateFileOptions} from "../pipeline/hand-over.ts";
import type {Job} from "../pipeline/job.ts";
import {productsOf} from "../pipeline/make-prescriptions.ts";
import {rateFiles} from "../pipeline/rate-files.ts";
import type {RunResult} from "../pipeline/run.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import {groundFile, groundNames, isGroundName} from "./ground-shapes.ts";
import type {Made, Viewed} from "./make-results.ts";

const ENDING = ".geojson";

/**
 * Everything a map can ask for by name: the shapes among the outputs, rates that are drawn without being among them, the
 * differences between strategies, and the keep-outs and setbacks of the job.
 */
export function shapeNames(made: Omit<Made, "card">): string[] {
  const files = [...made.outputs.keys(), ...made.drawn.keys()].filter(isShapes);
  return [
    ...files.map((name) => name.slice(0, -ENDING.length)),
    ...differencesOf(made).map(({name}) => name),
    ...groundNames(made.job),
  ];
}

/**
 * GeoJSON; undefined where there is no such shape, or where it stands among outputs that are kept elsewhere.
 *
 * @param filesOf - Called where the shape is in none of them and has to be read from the job's own files.
 */
export async function shapesNamed(
  view: Viewed,
  name: string,
  filesOf: () => Promise<FileSet>,
): Promise<Uint8Array | undefined> {
  const file = shapeFile(name);
  const found = file === undefined ? undefined : (view.outputs?.get(file) ?? view.drawn.get(file));
  if (found) return found;
  if (isGroundName(name)) {
    const {job, field} = view;
    return groundNames(job).includes(name) ? groundFile({job, field, files: await filesOf()}, name) : undefined;
  }
  const difference = differencesOf(view).find((one) => one.name === name);
  return difference && differenceFile(view, difference);
}

/** The output that would hold shapes of that name; undefined for what is no name of shapes. */
export const shapeFile = (name: string): string | undefined => (isShapes(name + ENDING) ? name + ENDING : undefined);

const isShapes = (file: string): boolean => file.endsWith(ENDING) && !file.includes("/");

/**
 * Rates as the maps draw them, by the names they would have among the outputs, where the job asks for other formats
 * alone.
 */
export async function drawnRates(
  job: Job,
  {field, strategies, outputs}: RunResult,
  files: FileSet,
): Promise<Map<string, Uint8Array>> {
  const drawn = new Map<string, Uint8Array>();
  const options = rateFileOptions(job, files);
  if (options.formats.includes("geojson")) return drawn;
  for (const {prescriptions, limeRates} of strategies) {
    const rates = [...prescriptions, ...(limeRates ? [limeRates] : [])];
    const written = await rateFiles(field, rates, {...options, formats: ["geojson"]});
    for (const [name, bytes] of written.files) if (!outputs.has(name)) drawn.set(name, bytes);
  }
  return drawn;
}

export interface NamedDifference {
  /** `difference-{strategy}-{against}-{product}`, the product by its code. */
  readonly name: string;
  readonly map: DifferenceMap;
}

/** The differences of a run with evidence, one for each pair of strategies and product. */
export function differencesOf({run, job}: Pick<Viewed, "run" | "job">): NamedDifference[] {
  const codes = productsOf(job).map(({product}) => product);
  const used = new Map<string, number>();
  return (run.evidence?.differences ?? []).map((map) => {
    const pair = `${map.strategy}-${map.against}-${map.analysis}`;
    const nth = used.get(pair) ?? 0;
    used.set(pair, nth + 1);
    // Two products of one analysis are told apart by their codes, which stand in the same order.
    const product = codes.filter(({analysis}) => analysis === map.analysis)[nth];
    return {name: `difference-${map.strategy}-${map.against}-${product?.code ?? map.analysis}`, map};
  });
}

function differenceFile({field}: Viewed, {name, map}: NamedDifference): Uint8Array {
  const features = map.pieces.map((piece) => ({
    geometry: {type: "MultiPolygon" as const, coordinates: multiPolygonToLonLat(field.frame, piece.shape)},
    properties: {
      unit: piece.unit,
      againstUnit: piece.againstUnit,
      acres: roundHalfAway(piece.areaM2 / SQUARE_METRES_PER_ACRE, 4),
      lbPerAcre: piece.lbPerAcre,
      againstLbPerAcre: piece.againstLbPerAcre,
      differenceLbPerAcre: piece.differenceLbPerAcre,
    },
  }));
  const {strategy, against, analysis, toleranceLbPerAcre} = map;
  return writeGeoJson(
    {name, features},
    {loamwright: {field: field.name, kind: "difference of rates", strategy, against, analysis, toleranceLbPerAcre}},
  );
}
