import {effect, type ReadonlySignal, signal} from "@preact/signals";
import type {GlMap} from "./maplibre.ts";

const LOOK_AGAIN_MS = 8;

/**
 * Tells whether a map is still being drawn: its data are on the way, are being put in, or the graphics have not made the
 * picture yet. Nobody waits for the graphics meanwhile, so the page goes on.
 *
 * @param onTheWay - How much of what is to be drawn has been asked for and has not come.
 * @returns what ends it.
 */
export function watchDrawing(
  gl: GlMap,
  onTheWay: ReadonlySignal<number>,
  tell: (drawing: boolean) => void,
): () => void {
  const resting = signal(false);
  let turn = 0;
  gl.on("dataloading", () => {
    resting.value = false;
  });
  gl.on("idle", () => {
    resting.value = true;
  });
  const stop = effect(() => {
    turn += 1;
    const mine = turn;
    if (!resting.value || onTheWay.value > 0) return tell(true);
    whenMade(gl, () => {
      if (mine === turn) tell(false);
    });
  });
  return () => {
    turn += 1;
    stop();
  };
}

/** Calls back when the graphics have made what they were told to so far. */
function whenMade(gl: GlMap, tell: () => void): void {
  const context = gl.getCanvas().getContext("webgl2");
  const fence = context?.fenceSync(context.SYNC_GPU_COMMANDS_COMPLETE, 0);
  if (!context || !fence) {
    tell();
    return;
  }
  context.flush();
  const look = (): void => {
    const made = context.isContextLost() || context.getSyncParameter(fence, context.SYNC_STATUS) === context.SIGNALED;
    if (!made) return void setTimeout(look, LOOK_AGAIN_MS);
    context.deleteSync(fence);
    tell();
  };
  look();
}
