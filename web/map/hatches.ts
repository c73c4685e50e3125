import type {GlMap} from "./maplibre.ts";
import {INK, SHEET} from "./ramps.ts";

const SIZE = 16;
/** Pixels of the picture to one of the page. */
const SCALE = 2;
/** Angle and spacing by zone number, and what the others are for. */
const STROKES: Record<string, (context: CanvasRenderingContext2D) => void> = {
  "zone-1": (c) => slanted(c, 1, 16),
  "zone-2": (c) => dots(c),
  "zone-3": (c) => slanted(c, -1, 16),
  "zone-4": (c) => level(c),
  "zone-5": (c) => {
    slanted(c, 1, 16);
    slanted(c, -1, 16);
  },
  "zone-6": (c) => upright(c),
  "zone-7": (c) => slanted(c, 1, 8),
  "zone-8": (c) => slanted(c, -1, 8),
  none: (c) => slanted(c, 1, 8),
  "keep-out": (c) => crosses(c),
  setback: (c) => waves(c),
};

export const hatchOfZone = (zone: number): string => `zone-${((zone - 1) % 8) + 1}`;
/** Of ground that gets nothing. */
export const HATCH_NONE = "none";

/** Of ground where no core is taken, and of ground by water and wells. */
export const HATCH_KEEP_OUT = "keep-out";
export const HATCH_SETBACK = "setback";

/** The ring a zone's number stands in. */
export const RING = "ring";

/** Draws hatches and ring, and gives them to a map by name. */
export function addHatches(map: GlMap): void {
  addRing(map);
  for (const name of Object.keys(STROKES)) {
    const context = drawn(name);
    if (context) map.addImage(name, context.getImageData(0, 0, SIZE * SCALE, SIZE * SCALE), {pixelRatio: SCALE});
  }
}

/** Address of a hatch's picture, to be laid over its colour in the legend. */
export function hatchUrl(name: string): string {
  const known = urls.get(name) ?? drawn(name)?.canvas.toDataURL() ?? "";
  urls.set(name, known);
  return known;
}

const urls = new Map<string, string>();

function drawn(name: string): CanvasRenderingContext2D | undefined {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = SIZE * SCALE;
  const context = canvas.getContext("2d") ?? undefined;
  if (!context) return undefined;
  context.scale(SCALE, SCALE);
  context.strokeStyle = context.fillStyle = INK;
  context.globalAlpha = 0.3;
  context.lineWidth = 0.9;
  STROKES[name]?.(context);
  return context;
}

function addRing(map: GlMap): void {
  const [size, scale] = [20, 3];
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = size * scale;
  const context = canvas.getContext("2d");
  if (!context) return;
  context.scale(scale, scale);
  context.beginPath();
  context.arc(size / 2, size / 2, 8.6, 0, 2 * Math.PI);
  context.fillStyle = SHEET;
  context.fill();
  context.strokeStyle = INK;
  context.lineWidth = 1.1;
  context.stroke();
  map.addImage(RING, context.getImageData(0, 0, size * scale, size * scale), {pixelRatio: scale});
}

function slanted(c: CanvasRenderingContext2D, way: 1 | -1, every: number): void {
  c.beginPath();
  for (let x = -SIZE; x <= 2 * SIZE; x += every) {
    c.moveTo(x, way > 0 ? SIZE : 0);
    c.lineTo(x + SIZE, way > 0 ? 0 : SIZE);
  }
  c.stroke();
}

function level(c: CanvasRenderingContext2D): void {
  c.beginPath();
  for (const y of [4, 12]) {
    c.moveTo(0, y);
    c.lineTo(SIZE, y);
  }
  c.stroke();
}

function upright(c: CanvasRenderingContext2D): void {
  c.beginPath();
  for (const x of [4, 12]) {
    c.moveTo(x, 0);
    c.lineTo(x, SIZE);
  }
  c.stroke();
}

/** No core here: small crosses. */
function crosses(c: CanvasRenderingContext2D): void {
  c.globalAlpha = 0.75;
  c.beginPath();
  for (const [x, y] of [
    [2, 4],
    [10, 4],
    [6, 12],
    [14, 12],
  ] as const) {
    c.moveTo(x - 1.6, y - 1.6);
    c.lineTo(x + 1.6, y + 1.6);
    c.moveTo(x - 1.6, y + 1.6);
    c.lineTo(x + 1.6, y - 1.6);
  }
  c.stroke();
}

/** By water: two lines of waves to a tile. */
function waves(c: CanvasRenderingContext2D): void {
  c.globalAlpha = 0.7;
  c.beginPath();
  for (const y of [4, 12]) {
    c.moveTo(0, y);
    c.quadraticCurveTo(SIZE / 4, y - 4, SIZE / 2, y);
    c.quadraticCurveTo((3 * SIZE) / 4, y + 4, SIZE, y);
  }
  c.stroke();
}

function dots(c: CanvasRenderingContext2D): void {
  for (const [x, y] of [
    [4, 4],
    [12, 12],
  ] as const) {
    c.beginPath();
    c.arc(x, y, 1.1, 0, 2 * Math.PI);
    c.fill();
  }
}
