import type {FeatureCollection, Position} from "geojson";
import type {FilterSpecification, GeoJSONSource, GlMap} from "./maplibre.ts";
import {SHEET} from "./ramps.ts";
import {NOTHING} from "./scene.ts";

/** Where a device is, and within how many metres of it. */
export interface Here {
  readonly lon: number;
  readonly lat: number;
  readonly accuracy: number;
}

const ACCENT = "#7a3e1d";
const SOURCE = "here";
const CORNERS = 48;
const METRES_PER_DEGREE = 111_195;

/** A filled dot for the one with the device, the ground it may be on about it; unlike the ring of a place looked at. */
export function addHere(gl: GlMap): void {
  gl.addSource(SOURCE, {type: "geojson", data: NOTHING});
  const about: FilterSpecification = ["==", ["geometry-type"], "Polygon"];
  const dot: FilterSpecification = ["==", ["geometry-type"], "Point"];
  gl.addLayer({
    id: "here-about",
    type: "fill",
    source: SOURCE,
    filter: about,
    paint: {"fill-color": ACCENT, "fill-opacity": 0.16, "fill-outline-color": ACCENT},
  });
  gl.addLayer({
    id: "here-halo",
    type: "circle",
    source: SOURCE,
    filter: dot,
    paint: {"circle-radius": 14, "circle-color": ACCENT, "circle-opacity": 0.24},
  });
  gl.addLayer({
    id: "here-dot",
    type: "circle",
    source: SOURCE,
    filter: dot,
    paint: {"circle-radius": 7, "circle-color": ACCENT, "circle-stroke-color": SHEET, "circle-stroke-width": 2},
  });
}

export function showHere(gl: GlMap, here: Here | undefined): void {
  const source = gl.getSource(SOURCE) as GeoJSONSource | undefined;
  source?.setData(here ? dotWithGround(here) : NOTHING);
}

/** Above what has been laid over it since, as the places of a drawing. A sheet to draw on shows nobody's place. */
export function raiseHere(gl: GlMap): void {
  for (const layer of ["here-halo", "here-dot"]) if (gl.getLayer(layer)) gl.moveLayer(layer);
}

function dotWithGround({lon, lat, accuracy}: Here): FeatureCollection {
  const up = accuracy / METRES_PER_DEGREE;
  const across = up / Math.cos((lat * Math.PI) / 180);
  const ring = Array.from({length: CORNERS + 1}, (_, i): Position => {
    const angle = (2 * Math.PI * (i % CORNERS)) / CORNERS;
    return [lon + across * Math.sin(angle), lat + up * Math.cos(angle)];
  });
  return {
    type: "FeatureCollection",
    features: [
      {type: "Feature", properties: {}, geometry: {type: "Polygon", coordinates: [ring]}},
      {type: "Feature", properties: {}, geometry: {type: "Point", coordinates: [lon, lat]}},
    ],
  };
}
