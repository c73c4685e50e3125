import type {Feature, Geometry} from "geojson";
import {describe, expect, it} from "vitest";
import {inOne} from "../../web/hands/ground/one-shape.ts";

const feature = (geometry: Geometry): Feature => ({type: "Feature", properties: {}, geometry});
const ring = [
  [0, 0],
  [1, 0],
  [1, 1],
  [0, 0],
];
const area = feature({type: "Polygon", coordinates: [ring]});
const line = feature({type: "LineString", coordinates: ring});
const place = feature({type: "Point", coordinates: [0, 1]});

describe("shapes whose corners are to be moved", () => {
  it("are one shape where they are of one kind, in their order", () => {
    const areas = feature({type: "MultiPolygon", coordinates: [[ring], [ring]]});
    expect(inOne([area, areas])).toEqual({type: "MultiPolygon", coordinates: [[ring], [ring], [ring]]});
    expect(inOne([line])).toEqual({type: "MultiLineString", coordinates: [ring]});
    expect(inOne([place, feature({type: "MultiPoint", coordinates: [[2, 2]]})])).toEqual({
      type: "MultiPoint",
      coordinates: [
        [0, 1],
        [2, 2],
      ],
    });
  });

  it("are none where they are of several kinds, or there are none", () => {
    expect(inOne([area, line])).toBeUndefined();
    expect(inOne([line, place])).toBeUndefined();
    expect(inOne([])).toBeUndefined();
  });
});
