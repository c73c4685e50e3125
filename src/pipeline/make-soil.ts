import {withPlace} from "../errors.ts";
import {multiPolygonToPlane} from "../geo/frame.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {joinSoilTable} from "../layers/join-soil-table.ts";
import {type SoilPolygon, soilMapLayers} from "../layers/soil-map.ts";
import {step} from "./host.ts";
import type {LayerWork, ThemedLayer} from "./make-layers.ts";
import {readRows, readVector} from "./read-inputs.ts";

/** The soil map of the job as layers, with the columns of its tables. */
export async function makeSoil({job, field, files, grid, host, remarks}: LayerWork): Promise<ThemedLayer[]> {
  const {soilMap} = job.layers;
  if (!soilMap) return [];
  await step(host, `reading ${soilMap.file}`);
  const {features} = await readVector(files, soilMap, remarks);
  let polygons: readonly SoilPolygon[] = features.flatMap(({geometry, properties}) => {
    if (geometry.type !== "Polygon" && geometry.type !== "MultiPolygon") return [];
    const parts = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates;
    const shape: MultiPolygon = multiPolygonToPlane(field.frame, parts);
    return [{shape, properties}];
  });
  for (const {file, columns, ...keys} of soilMap.tables) {
    const joined = joinSoilTable(polygons, {table: readRows(files, file, remarks, columns), ...keys});
    polygons = joined.polygons;
    remarks.push(...joined.issues);
  }
  const made = withPlace({file: soilMap.file}, () =>
    soilMapLayers(field, grid, polygons, {
      classField: soilMap.class,
      numeric: soilMap.numeric.map(({column, label, unit}) => ({field: column, label, unit})),
      name: `soil map ${soilMap.file.split("/").at(-1)}`,
    }),
  );
  remarks.push(...made.issues);
  return [made.classes, ...made.numeric].map((layer) => ({layer, theme: "soil" as const}));
}
