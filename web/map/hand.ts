import {signal} from "@preact/signals";
import type {Geometry, MultiLineString, MultiPoint, MultiPolygon, Polygon} from "geojson";
import {atHand, type Drawn, type Hand, type HandMode, isChange} from "./at-hand.ts";
import {changing} from "./hand-changing.ts";
import {drawing, type Tools} from "./hand-drawing.ts";
import {crossOver} from "./hand-keys.ts";
import {pressOn} from "./hand-press.ts";
import {raiseHere} from "./here.ts";
import type {GlMap} from "./maplibre.ts";
import {snapTo} from "./snap.ts";
import {startTerra} from "./terra.ts";

interface Options<M extends HandMode> {
  /** What is being drawn, in one sentence. */
  readonly says?: string;
  /** On the button that ends. Default "Finish". */
  readonly done?: string;
  /** Shapes whose corners and lines a corner is drawn to when it comes near. */
  readonly snapTo?: readonly Geometry[];
  /** Afterwards the map goes back to where it was before keys moved it. Default: it stays, for what is drawn next. */
  readonly viewBack?: boolean;
  /** At every corner set, moved or taken away; undefined while there is not enough for a shape. */
  readonly change?: (drawn: Drawn[M] | undefined) => void;
  readonly finish: (drawn: Drawn[M]) => void;
  /** Given up: nothing is to be changed. */
  readonly cancel?: () => void;
}

export type HandOptions<M extends HandMode> = Options<M> &
  (M extends "edit"
    ? {readonly geometry: Polygon | MultiPolygon}
    : M extends "lines"
      ? {readonly geometry: MultiLineString}
      : M extends "points"
        ? {readonly geometry: MultiPoint}
        : {readonly geometry?: undefined});

/**
 * Begins to draw on a map that has loaded. One drawing at a time: one that is going on is given up.
 *
 * By pointer or finger: a tap sets a corner, a tap on the last one ends. What is changed is dragged by its corners; a border
 * that is dragged gets a new corner, and a corner is taken out by the other mouse button or a long press. By keys, with the
 * map in focus: arrows move the ground under a cross, Space sets a corner or takes up and puts down one that is there, Enter
 * ends, Backspace takes back, Delete takes a corner out, Escape gives up.
 */
export function startHand<M extends HandMode>(gl: GlMap, mode: M, options: HandOptions<M>): Hand {
  atHand.peek()?.cancel();
  const corners = signal(0);
  const carried = signal(false);
  const tools: Tools = {
    gl,
    snap: snapTo(options.snapTo ?? []),
    corners,
    carried,
    changed: () => options.change?.(maker.drawn() as Drawn[M] | undefined),
    ended: () => void hand.finish(),
  };
  const maker = makerOf(tools, mode, options);
  const terra = startTerra(gl, maker.mode);
  const letClicksThrough = keepClicksFrom(gl);
  const letGo = maker.takes ? pressOn(gl, maker.mode, maker.takes) : undefined;
  const over = (after: (() => void) | undefined, gone = false): void => {
    if (atHand.peek() !== hand) return;
    atHand.value = undefined;
    gl.off("remove", removed);
    cross.remove(options.viewBack === true && !gone);
    letClicksThrough();
    letGo?.();
    if (!gone) terra.stop();
    after?.();
  };
  // A map that is taken away takes its drawing with it.
  const removed = (): void => over(options.cancel, true);
  const hand: Hand = {
    mode,
    says: options.says ?? "",
    done: options.done ?? "Finish",
    corners,
    carried,
    finish() {
      const drawn = maker.drawn() as Drawn[M] | undefined;
      if (drawn) over(() => options.finish(drawn));
      return drawn !== undefined;
    },
    cancel: () => over(options.cancel),
    back: () => maker.back(),
    takeOut: () => maker.takeOut(),
  };
  maker.begin(terra);
  raiseHere(gl);
  const cross = crossOver(gl, {
    moved: () => maker.crossMoved(),
    set: () => maker.setCorner(),
    finish: () => (mode === "point" ? maker.setCorner() : void hand.finish()),
    cancel: hand.cancel,
    back: hand.back,
    takeOut: hand.takeOut,
  });
  gl.once("remove", removed);
  atHand.value = hand;
  return hand;
}

function makerOf<M extends HandMode>(tools: Tools, mode: M, {geometry}: HandOptions<M>) {
  const wanted: HandMode = mode;
  if (!isChange(wanted)) return drawing(tools, wanted);
  if (!geometry) throw new Error(`nothing to change in mode ${mode}`);
  return changing(tools, wanted, geometry);
}

/** Milliseconds after the last tap in which a browser still makes a click of it. */
const CLICK_AFTER_MS = 400;

/** What is tapped while drawing is not chosen on the map as well. */
function keepClicksFrom(gl: GlMap): () => void {
  const container = gl.getContainer();
  const stop = (event: Event): void => {
    if (event.target === gl.getCanvas()) event.stopPropagation();
  };
  for (const name of ["click", "dblclick"]) container.addEventListener(name, stop, {capture: true});
  return () => {
    setTimeout(() => {
      for (const name of ["click", "dblclick"]) container.removeEventListener(name, stop, {capture: true});
    }, CLICK_AFTER_MS);
  };
}
