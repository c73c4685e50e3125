import {readFileSync, writeFileSync} from "node:fs";
import {beforeAll, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {threeMaps} from "../../src/report/three-maps.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {formatNumber} from "../../src/units/format.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import {minimumWidth} from "../../src/zones/minimum-width.ts";
import type {ZoneOptions} from "../../src/zones/zone-options.ts";
import {fieldFrom, randomLayer, ring} from "../zones/fields.ts";

beforeAll(loadGeos);

// The picture in docs/methods/zone-lines.md, of a made-up field. `REGEN=1 npm run unit tests/docs` draws it again.
it("docs/methods/zone-lines.svg shows zones before and after tidying", () => {
  const page = new URL("../../docs/methods/zone-lines.svg", import.meta.url);
  const outline: MultiPolygon = [
    [
      ring([0, 0], [620, 0], [620, 330], [500, 420], [330, 400], [330, 560], [40, 560], [0, 500]),
      ring([150, 300], [210, 330], [190, 250]),
    ],
  ];
  const {field, grid} = fieldFrom(outline, 5);
  const layer = randomLayer(grid, "yield", seededRandom(8, "picture"), 130, 0.35);
  const panel = (title: string, options: ZoneOptions) => {
    const map = buildZones({field, grid, features: [{layer, theme: "yield"}]}, {count: 3, ...options});
    const pieces = map.zones.flatMap(({shape}) => shape).length;
    return {
      title,
      note: `${pieces} pieces, ${formatNumber(100 * map.varianceExplained.tidied)} % explained`,
      parts: map.zones.map(({id, shape}) => ({shape, value: id})),
    };
  };
  const svg = threeMaps("The same zones, tidied", "zone number", outline, [
    panel("Smoothed only", {minArea: squareMetres(0)}),
    panel("No piece under 2 ac", {minArea: squareMetres(8093.7)}),
    panel("And no strip under 100 ft", {minArea: squareMetres(8093.7), minWidth: metres(minimumWidth())}),
  ]);
  if (process.env.REGEN) writeFileSync(page, svg);
  expect(readFileSync(page, "utf8")).toBe(svg);
});
