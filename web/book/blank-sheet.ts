import type {MultiPolygon} from "geojson";
import {type GeoJSONSource, type GlMap, maplibre} from "../map/maplibre.ts";
import {GROUND} from "../map/ramps.ts";
import {NOTHING} from "../map/scene.ts";
import {layTiles} from "../preferences/tiles.ts";

/** A map with nothing on it but the fields there are, to draw another beside them. */
export interface BlankSheet {
  readonly gl: GlMap;
  /** What is drawn so far. */
  show(drawn: MultiPolygon | undefined): void;
}

/** @param beside - Outlines of the fields of the book; the sheet begins at the first of them. */
export function blankSheet(container: HTMLElement, beside: readonly MultiPolygon[]): Promise<BlankSheet> {
  const first = beside[0]?.coordinates[0]?.[0]?.[0];
  const gl = new maplibre.Map({
    container,
    attributionControl: false,
    dragRotate: false,
    center: first ? [first[0] ?? 0, first[1] ?? 0] : [-90, 41],
    zoom: first ? 14 : 4,
    style: {version: 8, sources: {}, layers: [{id: "g", type: "background", paint: {"background-color": GROUND}}]},
  });
  gl.getCanvas().setAttribute("aria-label", "A blank sheet to draw on");
  let removed = false;
  gl.once("remove", () => {
    removed = true;
  });
  return new Promise((resolve) => {
    gl.once("load", () => {
      layTiles(gl, undefined);
      gl.addSource("beside", {type: "geojson", data: {type: "GeometryCollection", geometries: [...beside]}});
      gl.addLayer({
        id: "beside",
        type: "line",
        source: "beside",
        paint: {"line-color": "#5d676a", "line-dasharray": [3, 2]},
      });
      gl.addSource("drawn", {type: "geojson", data: NOTHING});
      gl.addLayer({id: "drawn", type: "fill", source: "drawn", paint: {"fill-color": "#c9d9e4", "fill-opacity": 0.6}});
      gl.addLayer({id: "edge", type: "line", source: "drawn", paint: {"line-color": "#1f2a2e", "line-width": 1.8}});
      resolve({
        gl,
        show: (drawn) => {
          if (removed) return;
          const source = gl.getSource("drawn") as GeoJSONSource | undefined;
          source?.setData(drawn ? {type: "Feature", properties: {}, geometry: drawn} : NOTHING);
        },
      });
    });
  });
}
