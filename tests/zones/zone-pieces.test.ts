import {expect, it} from "vitest";
import {zonePieces} from "../../src/zones/zone-pieces.ts";
import {box, ring} from "./fields.ts";

it("zones in single polygons are numbered by zone and size, holes left open", () => {
  const holed = [ring([0, 0], [10, 0], [10, 10], [0, 10]), ring([2, 2], [2, 4], [4, 4], [4, 2])];
  const pieces = zonePieces([
    {id: 1, shape: [...box(20, 0, 25, 5), holed, ...box(30, 0, 35, 5)]},
    {id: 2, shape: box(40, 0, 50, 10)},
  ]);
  expect(pieces.map(({id, zone, area}) => [id, zone, area])).toEqual([
    ["1.1", 1, 96],
    ["1.2", 1, 25],
    ["1.3", 1, 25],
    ["2.1", 2, 100],
  ]);
  expect(pieces[0]?.shape).toBe(holed);
  expect(pieces.map(({shape}) => shape[0]?.[0]?.x)).toEqual([0, 20, 30, 40]);
});
