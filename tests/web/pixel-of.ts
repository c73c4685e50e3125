import type {Position} from "geojson";
import type {Page} from "playwright-core";
import type {FieldPage} from "../../src/server/api-types.ts";

/** Where a place lies on the screen, on a map that shows the whole field as it does when it is opened or enlarged. */
export async function pixelOf(
  page: Page,
  map: string,
  {card}: Pick<FieldPage, "card">,
  at: Position,
): Promise<readonly [number, number]> {
  const box = await page.locator(`${map} canvas`).boundingBox();
  if (!box) throw new Error(`no map ${map}`);
  const mercator = ([lon = 0, lat = 0]: Position) => [
    lon,
    -Math.log(Math.tan(Math.PI / 4 + (lat * Math.PI) / 360)) * (180 / Math.PI),
  ];
  const corners = card.outline.flat(2).map((corner) => mercator([...corner]));
  const [xs, ys] = [0, 1].map((i) => corners.map((corner) => corner[i] as number)) as [number[], number[]];
  const [west, east, north, south] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  // As the map fits the field: 20 pixels around it, more at the foot for the scale.
  const foot = Math.min(46, box.height / 5);
  const scale = Math.min((box.width - 40) / (east - west), (box.height - 20 - foot) / (south - north));
  const [x = 0, y = 0] = mercator(at);
  return [
    box.x + box.width / 2 + (x - (west + east) / 2) * scale,
    box.y + (box.height + 20 - foot) / 2 + (y - (north + south) / 2) * scale,
  ];
}
