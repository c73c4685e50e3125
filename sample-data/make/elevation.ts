import {transformBetween} from "../../src/geo/crs.ts";
import {frameProjString} from "../../src/geo/frame.ts";
import {boxOf} from "../../src/geo/measure.ts";
import type {Raster} from "../../src/grid/raster.ts";
import {seededRandom} from "../../src/stats/random.ts";
import type {SampleField} from "./farm.ts";
import {smoothNoise} from "./noise.ts";
import {terrainAt} from "./truth.ts";

const UTM_16_NORTH = {
  name: "EPSG:26916",
  definition: "+proj=utm +zone=16 +datum=NAD83 +units=m +no_defs",
  units: "metres",
} as const;
const CELL_M = 2;
const MARGIN_M = 110;

/**
 * Bare-earth heights as an airborne survey would deliver them: 2 m cells of a zone's own grid (not the field's), a
 * margin around the field, tillage marks along the rows and a few centimetres of noise. Whole millimetres.
 */
export function elevation(field: SampleField): Raster {
  const toUtm = transformBetween(frameProjString(field.frame), UTM_16_NORTH.definition);
  const box = boxOf(field.outline);
  const corners = [box.west - MARGIN_M, box.east + MARGIN_M].flatMap((x) =>
    [box.south - MARGIN_M, box.north + MARGIN_M].map((y) => toUtm.forward(x, y)),
  );
  const snap = (value: number, round: (n: number) => number): number => round(value / CELL_M) * CELL_M;
  const west = snap(Math.min(...corners.map(([x]) => x)), Math.floor);
  const east = snap(Math.max(...corners.map(([x]) => x)), Math.ceil);
  const south = snap(Math.min(...corners.map(([, y]) => y)), Math.floor);
  const north = snap(Math.max(...corners.map(([, y]) => y)), Math.ceil);
  const cols = (east - west) / CELL_M;
  const rows = (north - south) / CELL_M;
  const {heightAt} = terrainAt(field);
  const random = seededRandom(field.seed, "elevation/noise");
  const furrows = smoothNoise(field.seed, "elevation/furrows", 9);
  const values = new Float64Array(cols * rows);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const {x, y} = planeOf(west + (col + 0.5) * CELL_M, north - (row + 0.5) * CELL_M);
      // Marks are drawn out along the rows: narrow across, long along.
      const [along, across] = field.rowHeading === 90 ? [x, y] : [y, x];
      const ground = heightAt(x, y) + 0.022 * furrows(along / 12, across) + 0.014 * random.normal();
      values[row * cols + col] = Math.round(ground * 1000) / 1000;
    }
  }
  return {
    name: `${field.id} elevation`,
    crs: UTM_16_NORTH,
    west,
    north,
    cellWidth: CELL_M,
    cellHeight: CELL_M,
    cols,
    rows,
    values,
    unit: "m",
  };

  function planeOf(easting: number, northing: number): {x: number; y: number} {
    const [x, y] = toUtm.inverse(easting, northing);
    return {x, y};
  }
}
