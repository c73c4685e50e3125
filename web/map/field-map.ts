import type {Feature, FeatureCollection, MultiPolygon} from "geojson";
import {layTiles} from "../preferences/tiles.ts";
import {addGroundLayers} from "./ground-layers.ts";
import {addHatches, RING} from "./hatches.ts";
import {addHere, type Here, showHere} from "./here.ts";
import {inOneFrame} from "./in-one-frame.ts";
import {
  BOLD_LABEL_FONT,
  type ExpressionSpecification,
  type FilterSpecification,
  type GeoJSONSource,
  type GlMap,
  type ImageSource,
  maplibre,
} from "./maplibre.ts";
import {GROUND, INK, SHEET} from "./ramps.ts";
import {NOTHING, type Picture, type Scene} from "./scene.ts";

/** One of the maps of a field: north up, no tiles, nothing asked of any network. */
export interface FieldMap {
  readonly gl: GlMap;
  draw(scene: Scene): void;
  /** Keep-outs and setbacks, and what is just being drawn, over whatever the scene is. */
  grounds(features: readonly Feature[]): void;
  /** The field's edge, when it may have been drawn anew. A field that reaches elsewhere is brought in view. */
  outline(shape: MultiPolygon): void;
  /** Where the one with the device stands, and within how many metres; undefined takes it away. */
  here(place: Here | undefined): void;
  /** Outlines the chosen unit, or bag of a pooled plan, and pins a place. */
  mark(unit: string | undefined, place: {readonly lon: number; readonly lat: number} | undefined): void;
  fit(): void;
  remove(): void;
}

export type Box = readonly [number, number, number, number];

const DATA = ["boundary", "areas", "units", "grounds", "labels", "cores", "place"] as const;
/** Pixels from a label's point to the nearest edge that a label, or a ring, needs. */
const LABEL_ROOM = 7;
const RING_ROOM = 9;
/** And words left without their ring, whose point was sought for a wide label. */
const WORDS_ROOM = 5;
const ACCENT = "#7a3e1d";

export function makeFieldMap(container: HTMLElement, outline: MultiPolygon, spoken: string): Promise<FieldMap> {
  let box = boxOf(outline);
  const gl = new maplibre.Map({
    container,
    attributionControl: false,
    fadeDuration: 0,
    dragRotate: false,
    pitchWithRotate: false,
    touchPitch: false,
    canvasContextAttributes: {preserveDrawingBuffer: true, antialias: false},
    bounds: [box[0], box[1], box[2], box[3]],
    fitBoundsOptions: {padding: paddingFor(container)},
    style: {
      version: 8,
      sources: Object.fromEntries(
        DATA.map((name) => [name, {type: "geojson", data: name === "boundary" ? edgeOf(outline) : NOTHING}]),
      ),
      layers: [],
    },
  });
  gl.touchZoomRotate.disableRotation();
  gl.keyboard.disableRotation();
  gl.getCanvas().setAttribute("aria-label", spoken);
  return new Promise((resolve) => {
    // Before anything is drawn, so that the first picture is whole.
    gl.once("style.load", () => {
      addHatches(gl);
      addLayers(gl);
      layTiles(gl, "areas");
      addGroundLayers(gl);
      let gone = false;
      const fit = (): void => {
        if (gone) return;
        gl.resize();
        gl.fitBounds([box[0], box[1], box[2], box[3]], {padding: paddingFor(container), animate: false});
      };
      const state = {picture: undefined as string | undefined, isWhole: false};
      gl.once("idle", () => {
        state.isWhole = true;
      });
      const hideCrampedLabels = () => {
        const pixel = metresPerPixel(gl);
        const hasPair: FilterSpecification = [
          "all",
          ["has", "pair"],
          [">=", ["get", "room"], ["*", pixel, ["coalesce", ["get", "pair"], 0]]],
        ];
        const words: ExpressionSpecification = ["*", pixel, ["case", ["has", "pair"], WORDS_ROOM, LABEL_ROOM]];
        gl.setFilter("labels", ["all", [">=", ["get", "room"], words], ["!", hasPair]]);
        gl.setFilter("rings", [
          "all",
          ["has", "ring"],
          ["!", ["has", "pair"]],
          [">=", ["get", "room"], RING_ROOM * pixel],
        ]);
        gl.setFilter("pair-words", hasPair);
        gl.setFilter("pair-rings", hasPair);
      };
      gl.on("zoomend", hideCrampedLabels);
      resolve({
        gl,
        draw(scene) {
          const put = (): void => {
            setData(gl, "areas", scene.areas);
            setData(gl, "units", scene.units);
            setData(gl, "labels", scene.labels);
            setData(gl, "cores", scene.cores);
          };
          if (state.isWhole) inOneFrame(gl, DATA, put);
          else put();
          state.picture = setPicture(gl, scene.picture, state.picture);
          gl.setPaintProperty("units", "line-color", scene.lines === "paper" ? "#ffffff" : INK);
          gl.setPaintProperty("units", "line-opacity", scene.lines === "paper" ? 0.75 : 0.45);
          gl.getCanvas().setAttribute("aria-label", scene.spoken);
          hideCrampedLabels();
        },
        grounds: (features) => setData(gl, "grounds", {type: "FeatureCollection", features: [...features]}),
        outline(shape) {
          const next = boxOf(shape);
          const elsewhere = next.some((side, i) => side !== box[i]);
          box = next;
          setData(gl, "boundary", edgeOf(shape));
          if (elsewhere) requestAnimationFrame(fit);
        },
        here: (place) => showHere(gl, place),
        mark(unit, place) {
          gl.setFilter("chosen", ["==", ["get", "unit"], unit ?? ""]);
          gl.setFilter("chosen-bag", ["==", ["get", "sample"], unit ?? ""]);
          const at: FeatureCollection = place
            ? {
                type: "FeatureCollection",
                features: [
                  {type: "Feature", properties: {}, geometry: {type: "Point", coordinates: [place.lon, place.lat]}},
                ],
              }
            : NOTHING;
          setData(gl, "place", at);
        },
        fit,
        remove() {
          gone = true;
          gl.remove();
        },
      });
    });
  });
}

/** Metres on the ground for one pixel in the middle of the map. */
export function metresPerPixel(gl: GlMap): number {
  return (40_075_016.686 * Math.cos((gl.getCenter().lat * Math.PI) / 180)) / (512 * 2 ** gl.getZoom());
}

function addLayers(gl: GlMap): void {
  gl.addLayer({id: "ground", type: "background", paint: {"background-color": GROUND}});
  gl.addLayer({
    id: "areas",
    type: "fill",
    source: "areas",
    paint: {"fill-color": ["get", "fill"], "fill-antialias": false},
  });
  gl.addLayer({
    id: "hatch",
    type: "fill",
    source: "areas",
    filter: ["has", "hatch"],
    paint: {"fill-pattern": ["get", "hatch"]},
  });
  gl.addLayer({
    id: "pieces",
    type: "line",
    source: "areas",
    filter: ["has", "edge"],
    paint: {"line-color": "#ffffff", "line-width": 1.2, "line-opacity": 0.85},
  });
  gl.addLayer({
    id: "units",
    type: "line",
    source: "units",
    paint: {"line-color": INK, "line-width": 1, "line-opacity": 0.5, "line-dasharray": [3, 2]},
  });
  gl.addLayer({
    id: "boundary",
    type: "line",
    source: "boundary",
    layout: {"line-join": "round"},
    paint: {"line-color": INK, "line-width": 1.8},
  });
  gl.addLayer({
    id: "chosen",
    type: "line",
    source: "areas",
    filter: ["==", ["get", "unit"], ""],
    layout: {"line-join": "round"},
    paint: {"line-color": ACCENT, "line-width": 2.6},
  });
  gl.addLayer({
    id: "chosen-bag",
    type: "line",
    source: "units",
    filter: ["==", ["get", "sample"], ""],
    layout: {"line-join": "round"},
    paint: {"line-color": ACCENT, "line-width": 2.6},
  });
  gl.addLayer({
    id: "cores",
    type: "circle",
    source: "cores",
    paint: {
      "circle-radius": ["interpolate", ["linear"], ["zoom"], 13, 0.9, 15, 2.2, 17, 4.5],
      // A core that was put elsewhere by hand is hollow.
      "circle-color": ["case", ["has", "moved_ft"], SHEET, INK],
      "circle-stroke-color": ["case", ["has", "moved_ft"], INK, SHEET],
      "circle-stroke-width": ["interpolate", ["linear"], ["zoom"], 13, 0.3, 16, 1],
    },
  });
  addWords(gl, "labels", [0, 0], "center");
  addRings(gl, "rings", [0, 0], [0, 0]);
  // A ring 20 pixels wide, 4 more, and words of 6.5 pixels a figure, together about their point.
  addWords(gl, "pair-words", byFigures(8.75 / 12.5, -14 / 12.5), "left");
  addRings(gl, "pair-rings", byFigures(-5.25, -28), byFigures(-5.25 / 12, -28 / 12));
  addHere(gl);
  gl.addLayer({
    id: "place",
    type: "circle",
    source: "place",
    paint: {
      "circle-radius": 5.5,
      "circle-color": "rgba(0,0,0,0)",
      "circle-stroke-color": ACCENT,
      "circle-stroke-width": 2.5,
    },
  });
}

/** Words about their point, or after a ring. */
function addWords(gl: GlMap, id: string, offset: ByFigures, anchor: "center" | "left"): void {
  gl.addLayer({
    id,
    type: "symbol",
    source: "labels",
    layout: {
      "text-field": ["get", "text"],
      "text-font": [BOLD_LABEL_FONT],
      "text-size": 12.5,
      "text-padding": 1,
      "text-anchor": anchor,
      "text-offset": offset,
      "symbol-sort-key": ["-", 0, ["get", "room"]],
    },
    paint: {"text-color": ["get", "ink"], "text-halo-color": ["get", "halo"], "text-halo-width": 1.4},
  });
}

/** A number in its ring. */
function addRings(gl: GlMap, id: string, iconOffset: ByFigures, textOffset: ByFigures): void {
  gl.addLayer({
    id,
    type: "symbol",
    source: "labels",
    filter: ["has", "ring"],
    layout: {
      "icon-image": RING,
      "icon-offset": iconOffset,
      "icon-padding": 0,
      "text-field": ["get", "ring"],
      "text-font": [BOLD_LABEL_FONT],
      "text-size": 12,
      "text-offset": textOffset,
      "text-padding": 0,
      "symbol-sort-key": ["-", 0, ["get", "room"]],
    },
    paint: {"text-color": INK},
  });
}

type ByFigures = [number, number] | ExpressionSpecification;

/** From one figure to eight, in between by their number. */
function byFigures(one: number, eight: number): ByFigures {
  return ["interpolate", ["linear"], ["length", ["get", "text"]], 1, ["literal", [one, 0]], 8, ["literal", [eight, 0]]];
}

function setData(gl: GlMap, name: (typeof DATA)[number], data: FeatureCollection): void {
  const shown = onShow.get(gl) ?? new Map<string, FeatureCollection>();
  onShow.set(gl, shown);
  if (isSame(shown.get(name), data)) return;
  shown.set(name, data);
  (gl.getSource(name) as GeoJSONSource | undefined)?.setData(data);
}

/** What each map was last given: to be given the same again costs as much as to be given something new. */
const onShow = new WeakMap<GlMap, Map<string, FeatureCollection>>();

function isSame(before: unknown, now: unknown): boolean {
  if (Object.is(before, now)) return true;
  if (typeof before !== "object" || typeof now !== "object" || before === null || now === null) return false;
  const keys = Object.keys(now) as (keyof typeof now)[];
  return keys.length === Object.keys(before).length && keys.every((key) => isSame(before[key], now[key]));
}

/** Puts the picture under the areas, or takes it away. Returns the address of what is on show. */
function setPicture(gl: GlMap, picture: Picture | undefined, shown: string | undefined): string | undefined {
  if (picture?.url === shown) return shown;
  if (!picture) {
    if (gl.getLayer("picture")) gl.removeLayer("picture");
    if (gl.getSource("picture")) gl.removeSource("picture");
    return undefined;
  }
  const coordinates = picture.corners.map(([lon = 0, lat = 0]) => [lon, lat]) as [
    [number, number],
    [number, number],
    [number, number],
    [number, number],
  ];
  const source = gl.getSource("picture") as ImageSource | undefined;
  if (source) source.updateImage({url: picture.url, coordinates});
  else {
    gl.addSource("picture", {type: "image", url: picture.url, coordinates});
    gl.addLayer(
      {
        id: "picture",
        type: "raster",
        source: "picture",
        paint: {"raster-resampling": "nearest", "raster-fade-duration": 0},
      },
      "areas",
    );
  }
  return picture.url;
}

const edgeOf = (outline: MultiPolygon): FeatureCollection => ({
  type: "FeatureCollection",
  features: [{type: "Feature", properties: {}, geometry: outline}],
});

const paddingFor = (container: HTMLElement) => ({
  top: 20,
  left: 20,
  right: 20,
  bottom: Math.min(46, container.clientHeight / 5),
});

export function boxOf(outline: MultiPolygon): Box {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [lon = 0, lat = 0] of outline.coordinates.flat(2)) {
    west = Math.min(west, lon);
    east = Math.max(east, lon);
    south = Math.min(south, lat);
    north = Math.max(north, lat);
  }
  return [west, south, east, north];
}
