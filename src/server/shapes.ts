import type {DifferenceMap} from "../compare/difference-map.ts";
import {writeGeoJson} from "../formats/write-geojson.ts";
import {multiPolygonToLonLat} from "../geo/frame.ts";
import {productsOf} from "../pipeline/make-prescriptions.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import {groundFile, groundNames, isGroundName} from "./ground-shapes.ts";
import type {Made} from "./make-results.ts";

const ENDING = ".geojson";

/**
 * Everything a map can ask for by name: the shapes among the outputs, then the differences between strategies, then the
 * keep-outs and setbacks of the job.
 */
export function shapeNames(made: Made): string[] {
  const files = [...made.outputs.keys()].filter((name) => name.endsWith(ENDING) && !name.includes("/"));
  return [
    ...files.map((name) => name.slice(0, -ENDING.length)),
    ...differencesOf(made).map(({name}) => name),
    ...groundNames(made.job),
  ];
}

/** GeoJSON; undefined where there is no such shape. */
export async function shapesNamed(made: Made, name: string): Promise<Uint8Array | undefined> {
  if (!shapeNames(made).includes(name)) return undefined;
  const file = made.outputs.get(name + ENDING);
  if (file) return file;
  if (isGroundName(name)) return groundFile(made, name);
  const difference = differencesOf(made).find((one) => one.name === name);
  return difference && differenceFile(made, difference);
}

export interface NamedDifference {
  /** `difference-{strategy}-{against}-{product}`, the product by its code. */
  readonly name: string;
  readonly map: DifferenceMap;
}

/** The differences of a run with evidence, one for each pair of strategies and product. */
export function differencesOf({run, job}: Made): NamedDifference[] {
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

function differenceFile({field}: Made, {name, map}: NamedDifference): Uint8Array {
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
