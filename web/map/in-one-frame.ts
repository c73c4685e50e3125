import {queue} from "../state/queue.ts";
import type {GlMap} from "./maplibre.ts";

/** Longer than data that are here take to be cut for the map. */
const LONGEST_MS = 250;

const held = new WeakSet<GlMap>();

/**
 * Puts new data into a map and lets it draw when all of them are in: each source that is ready asks for a frame of its
 * own, and a map drawn half in the old way and half in the new is nothing anyone wants to see.
 */
export function inOneFrame(gl: GlMap, sources: readonly string[], put: () => void): void {
  if (held.has(gl)) {
    put();
    return;
  }
  held.add(gl);
  const draw = gl.triggerRepaint.bind(gl);
  const release = (): void => {
    if (!held.delete(gl)) return;
    clearTimeout(timer);
    gl.off("data", look);
    gl.triggerRepaint = draw;
    void turns(() => drawnBy(gl, draw));
  };
  const look = (): void => {
    if (sources.every((name) => gl.isSourceLoaded(name))) release();
  };
  const timer = setTimeout(release, LONGEST_MS);
  gl.triggerRepaint = () => undefined;
  put();
  gl.on("data", look);
  look();
}

/** One map after another, so that the page answers between them. */
const turns = queue();
const LONGEST_TURN_MS = 120;

function drawnBy(gl: GlMap, draw: () => void): Promise<void> {
  return new Promise((resolve) => {
    setTimeout(resolve, LONGEST_TURN_MS);
    gl.once("idle", () => resolve());
    draw();
  });
}
