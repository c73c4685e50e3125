import {
  TerraDraw,
  type TerraDrawExtend,
  TerraDrawLineStringMode,
  TerraDrawModeUndoRedo,
  type TerraDrawMouseEvent,
  TerraDrawPointMode,
  TerraDrawPolygonMode,
} from "terra-draw";
import {TerraDrawMapLibreGLAdapter} from "terra-draw-maplibre-gl-adapter";
import type {HandMode} from "./at-hand.ts";
import type {GlMap} from "./maplibre.ts";
import type {Snap} from "./snap.ts";

// The drawing library, set up once: our colours, our snapping, our keys. Only the hand uses it.

export type Terra = TerraDraw;
export type TerraMode = TerraDrawLineStringMode | TerraDrawPolygonMode | TerraDrawPointMode;

const ACCENT = "#7a3e1d";
const SHEET = "#fffdf8";
/** Pixels; a finger needs more than a pointer. */
export const reach = (): number => (matchMedia("(pointer: coarse)").matches ? 26 : 13);
const CORNERS = {
  closingPointColor: ACCENT,
  closingPointWidth: 6,
  closingPointOutlineColor: SHEET,
  closingPointOutlineWidth: 2,
  snappingPointColor: SHEET,
  snappingPointWidth: 5,
  snappingPointOutlineColor: ACCENT,
  snappingPointOutlineWidth: 2,
  coordinatePointColor: SHEET,
  coordinatePointWidth: 4,
  coordinatePointOutlineColor: ACCENT,
  coordinatePointOutlineWidth: 2,
} as const;
const AREA = {
  ...CORNERS,
  fillColor: ACCENT,
  fillOpacity: 0.14,
  outlineColor: ACCENT,
  outlineWidth: 2,
  editedPointColor: ACCENT,
  editedPointOutlineColor: SHEET,
  editedPointOutlineWidth: 4,
} as const;
const LINE = {...CORNERS, lineStringColor: ACCENT, lineStringWidth: 3} as const;
/** Keys are the hand's own. */
const NO_KEYS = {cancel: null, finish: null};
/** What is there is dragged; nothing new is drawn by a tap, and a corner goes by the other button or a long press. */
const CHANGES = {leftClick: false, onDragStart: true, onDrag: true, onDragEnd: true};
const CORNERS_CHANGE = {
  keyEvents: NO_KEYS,
  editable: true,
  showCoordinatePoints: true,
  pointerEvents: {...CHANGES, rightClick: true, contextMenu: true},
};

export function terraMode(mode: HandMode, snap: Snap, zoom: () => number): TerraMode {
  const pointerDistance = reach();
  const snapping = {toCustom: ({lng, lat}: TerraDrawMouseEvent) => snap(lng, lat, zoom())};
  switch (mode) {
    case "line":
      return new TerraDrawLineStringMode({
        pointerDistance,
        keyEvents: NO_KEYS,
        snapping,
        showCoordinatePoints: true,
        styles: LINE,
      });
    case "lines":
      return snapped(
        new TerraDrawLineStringMode({pointerDistance, ...CORNERS_CHANGE, styles: LINE}),
        ["onDrag"],
        snapping.toCustom,
      );
    case "polygon":
      return new TerraDrawPolygonMode({
        pointerDistance,
        keyEvents: NO_KEYS,
        snapping,
        showCoordinatePoints: true,
        styles: AREA,
      });
    case "edit":
      return snapped(
        new TerraDrawPolygonMode({pointerDistance, ...CORNERS_CHANGE, styles: AREA}),
        ["onDrag"],
        snapping.toCustom,
      );
    case "point":
    case "points": {
      const styles = {
        pointColor: SHEET,
        pointWidth: 6,
        pointOutlineColor: ACCENT,
        pointOutlineWidth: 2.5,
        editedPointColor: ACCENT,
        editedPointWidth: 7,
        editedPointOutlineColor: SHEET,
        editedPointOutlineWidth: 2,
      } as const;
      const pointerEvents = {...CHANGES, rightClick: false, contextMenu: false};
      const options = mode === "point" ? {} : {editable: true, pointerEvents};
      return snapped(
        new TerraDrawPointMode({pointerDistance, styles, ...options}),
        ["onClick", "onDrag"],
        snapping.toCustom,
      );
    }
  }
}

/** The library over a map, with one way of drawing begun. */
export function startTerra(gl: GlMap, mode: TerraMode): Terra {
  const terra = new TerraDraw({
    adapter: new TerraDrawMapLibreGLAdapter({map: gl, prefixId: "hand"}),
    modes: [mode as TerraDrawExtend.TerraDrawBaseDrawMode<TerraDrawExtend.CustomStyling>],
    undoRedo: {modeLevel: new TerraDrawModeUndoRedo()},
  });
  terra.start();
  terra.setMode(mode.mode);
  return terra;
}

/** What the library would hear of a tap in the middle of the map. */
export function tapInMiddle(gl: GlMap): TerraDrawMouseEvent {
  const {lng, lat} = gl.getCenter();
  const {x, y} = gl.project([lng, lat]);
  return {
    lng: rounded(lng),
    lat: rounded(lat),
    containerX: x,
    containerY: y,
    button: "left",
    heldKeys: [],
    isContextMenu: false,
  };
}

/** Degrees as the library keeps them: a tenth of a millimetre. */
export const rounded = (degrees: number): number => Math.round(degrees * 1e9) / 1e9;

/** Snapping where the library has none of its own. */
function snapped<M extends TerraMode>(
  mode: M,
  which: readonly ("onDrag" | "onClick")[],
  snap: (event: TerraDrawMouseEvent) => readonly number[] | undefined,
): M {
  for (const name of which) {
    const heard = mode[name].bind(mode) as (event: TerraDrawMouseEvent, ...rest: unknown[]) => void;
    mode[name] = (event: TerraDrawMouseEvent, ...rest: unknown[]) => {
      const [lng = event.lng, lat = event.lat] = snap(event) ?? [];
      heard({...event, lng: rounded(lng), lat: rounded(lat)}, ...rest);
    };
  }
  return mode;
}
