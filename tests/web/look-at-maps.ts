import type {Page} from "playwright-core";
import {until} from "./at-the-bench.ts";

export interface MapLook {
  readonly strategy: string;
  /** Share of the map's pixels that are not bare ground. */
  readonly drawn: number;
  /** West, north, east and south edge of what is drawn, as shares of the map's width and height. */
  readonly box: readonly [number, number, number, number];
  /** Colours that cover at least one pixel in two hundred. */
  readonly colours: readonly string[];
}

/** What is really drawn on each of the maps that are in view, pixel by pixel. */
export async function lookAtMaps(page: Page): Promise<MapLook[]> {
  return (await page.evaluate(LOOK)) as MapLook[];
}

const LOOK = `
[...document.querySelectorAll("figure.map")].map((figure) => {
  const gl = figure.querySelector("canvas");
  const copy = document.createElement("canvas");
  copy.width = gl.width;
  copy.height = gl.height;
  const context = copy.getContext("2d");
  context.drawImage(gl, 0, 0);
  const {data} = context.getImageData(0, 0, copy.width, copy.height);
  const ground = [0xf3, 0xef, 0xe4];
  const counts = new Map();
  let drawn = 0;
  const box = [copy.width, copy.height, 0, 0];
  for (let i = 0; i < data.length; i += 4) {
    if (Math.max(...ground.map((g, c) => Math.abs(data[i + c] - g))) > 6) {
      drawn++;
      const [x, y] = [(i / 4) % copy.width, Math.floor(i / 4 / copy.width)];
      box[0] = Math.min(box[0], x);
      box[1] = Math.min(box[1], y);
      box[2] = Math.max(box[2], x);
      box[3] = Math.max(box[3], y);
    }
    const colour = [0, 1, 2].map((c) => (data[i + c] >> 3).toString(16)).join(",");
    counts.set(colour, (counts.get(colour) ?? 0) + 1);
  }
  const least = data.length / 4 / 200;
  return {
    strategy: figure.dataset.strategy,
    drawn: drawn / (data.length / 4),
    box: box.map((edge, i) => edge / (i % 2 === 0 ? copy.width : copy.height)),
    colours: [...counts].filter(([, count]) => count > least).map(([colour]) => colour),
  };
})`;

/** Waits until every map shows its scene. */
export function mapsDrawn(page: Page): Promise<MapLook[]> {
  return until(
    () => lookAtMaps(page),
    (looks) => looks.length > 0 && looks.every(({drawn}) => drawn > 0.2),
  );
}

/** Waits until the maps show something else than before and have come to rest. */
export async function mapsMoved(page: Page, before: readonly MapLook[]): Promise<MapLook[]> {
  let last = before.map(({box}) => box.join());
  return until(
    () => lookAtMaps(page),
    (looks) => {
      const now = looks.map(({box}) => box.join());
      const rests = now.join() === last.join() && now.some((box, m) => box !== before[m]?.box.join());
      last = now;
      return rests;
    },
  );
}
