import {toLonLat} from "../geo/frame.ts";
import type {LonLat} from "../geo/shapes.ts";
import {cellCount} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {differenceColour, type RampName, rampColour} from "../report/ramp.ts";
import type {Ramp} from "./api-types.ts";
import {writePng} from "./png.ts";
import {classesOf, rangeOf} from "./result-card.ts";

export interface LayerPicture {
  readonly png: Uint8Array;
  /** North-west, north-east, south-east, south-west, as a map that lays pictures wants them. */
  readonly corners: readonly [LonLat, LonLat, LonLat, LonLat];
}

const RAMP_NAMES: Readonly<Record<Exclude<Ramp, "diverging">, RampName>> = {
  blue: "rate",
  ochre: "soilTest",
  grey: "elevation",
};

/** Finer than eyes and screens tell apart. */
const TONES = 256;

/**
 * A layer as a picture, one pixel a cell, in one ramp from its least to its most. Cells without data and outside the
 * field are clear.
 *
 * The picture lies in the field's own frame. Laid on a map by its corners, cells within a field of 2 km are off by less
 * than a tenth of a metre, which the turn of the frame against the meridian at its edges comes to.
 *
 * @param mask - Cells of the field.
 */
export function layerPicture(layer: Layer, mask: Uint8Array, ramp: Ramp): LayerPicture {
  const {grid, values} = layer;
  const {least, most} = rangeOf(layer);
  const tones = tonesOf(ramp, classesOf(layer)?.length);
  const toTone = toneOf(layer, ramp, least, most, tones.length);
  const rgba = new Uint8Array(cellCount(grid) * 4);
  for (let cell = 0; cell < values.length; cell++) {
    const value = values[cell] as number;
    if (!mask[cell] || Number.isNaN(value)) continue;
    rgba.set(tones[toTone(value)] as Uint8Array, cell * 4);
  }
  const {frame, west, north, cellSize, cols, rows} = grid;
  const [east, south] = [west + cols * cellSize, north - rows * cellSize];
  const corner = (x: number, y: number): LonLat => toLonLat(frame, {x, y});
  return {
    png: writePng({width: cols, height: rows, rgba}),
    corners: [corner(west, north), corner(east, north), corner(east, south), corner(west, south)],
  };
}

function tonesOf(ramp: Ramp, classes: number | undefined): Uint8Array[] {
  const count = classes === undefined ? TONES : Math.max(1, classes);
  return Array.from({length: count}, (_, i) => {
    const hex =
      ramp === "diverging"
        ? differenceColour(2 * (count > 1 ? i / (count - 1) : 0.5) - 1, 1)
        : rampColour(RAMP_NAMES[ramp], i, 0, count - 1);
    return Uint8Array.of(...[1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16)), 255);
  });
}

function toneOf(layer: Layer, ramp: Ramp, least: number, most: number, tones: number): (value: number) => number {
  if (classesOf(layer)) return (value) => Math.max(0, Math.min(tones - 1, Math.round(value)));
  const [low, high] = ramp === "diverging" ? around(middleOf(layer, least, most), least, most) : [least, most];
  const scale = high > low ? (tones - 1) / (high - low) : 0;
  return scale === 0 ? () => tones >> 1 : (value) => Math.round((value - low) * scale);
}

/** As far to either side as the farther end lies. */
function around(middle: number, least: number, most: number): [number, number] {
  const reach = Math.max(most - middle, middle - least);
  return [middle - reach, middle + reach];
}

/** What a layer is more or less than: its mean for shares of it, zero where it lies between, else the middle. */
function middleOf({unit}: Layer, least: number, most: number): number {
  if (unit === "% of mean") return 100;
  return least < 0 && most > 0 ? 0 : (least + most) / 2;
}
