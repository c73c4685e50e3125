import type {Signal} from "@preact/signals";
import type {Geometry, LineString, Point, Polygon, Position} from "geojson";
import type {GlMap} from "./maplibre.ts";
import type {Snap} from "./snap.ts";
import {type Terra, tapInMiddle, terraMode} from "./terra.ts";

/** What a way of drawing works with. */
export interface Tools {
  readonly gl: GlMap;
  readonly snap: Snap;
  readonly corners: Signal<number>;
  readonly carried: Signal<boolean>;
  readonly changed: () => void;
  /** Ended on the map itself, as by a tap on the last corner. */
  readonly ended: () => void;
}

/** One way of drawing, by pointer through the library and by a cross in the middle of the map. */
export interface Maker {
  readonly mode: ReturnType<typeof terraMode>;
  begin(terra: Terra): void;
  /** Undefined while there is not enough for a shape. */
  drawn(): Geometry | undefined;
  /** The cross stands over other ground. */
  crossMoved(): void;
  /** A corner where the cross is. */
  setCorner(): void;
  back(): void;
  takeOut(): void;
  /** The corner or place that is taken up when so many pixels of the map are pressed. */
  takes?(x: number, y: number): Position | undefined;
}

/** Draws a new line, polygon or point. */
export function drawing(tools: Tools, wanted: "line" | "polygon" | "point"): Maker {
  const {gl, snap, corners} = tools;
  const mode = terraMode(wanted, snap, () => gl.getZoom());
  let terra: Terra | undefined;
  let finished: Geometry | undefined;
  const tell = (): void => {
    if (corners.peek() === mode.undoSize()) return;
    corners.value = mode.undoSize();
    tools.changed();
  };
  return {
    mode,
    begin(begun) {
      terra = begun;
      begun.on("history", tell);
      begun.on("finish", (id) => {
        finished = begun.getSnapshotFeature(id)?.geometry;
        // The library has more to do before it can be put away.
        queueMicrotask(tools.ended);
      });
    },
    drawn() {
      if (finished) return finished;
      const unfinished = terra?.getSnapshot().find(({geometry}) => geometry.type !== "Point")?.geometry;
      return unfinished && withoutLoose(unfinished as LineString | Polygon, mode.undoSize());
    },
    crossMoved: () => mode.onMouseMove(tapInMiddle(gl)),
    setCorner() {
      mode.onMouseMove(tapInMiddle(gl));
      mode.onClick(tapInMiddle(gl));
      tell();
    },
    back() {
      terra?.undo();
      tell();
    },
    takeOut: () => undefined,
  };
}

/** The corners that are set; the library keeps one more that goes with the pointer. */
function withoutLoose(shape: LineString | Polygon, corners: number): LineString | Polygon | Point | undefined {
  if (shape.type === "LineString") {
    return corners < 2 ? undefined : {type: "LineString", coordinates: shape.coordinates.slice(0, corners)};
  }
  if (corners < 3) return undefined;
  const set = (shape.coordinates[0] as Position[]).slice(0, corners);
  return {type: "Polygon", coordinates: [[...set, set[0] as Position]]};
}
