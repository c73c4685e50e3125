import {strategies} from "../../field/three-maps.tsx";
import type {Drawn, Hand, HandMode} from "../../map/at-hand.ts";
import type {HandOptions} from "../../map/hand.ts";
import {openMaps} from "../../state/maps.ts";
import {enlarged} from "../../state/view.ts";

/**
 * Draws on the enlarged map, or on one that is enlarged for it and made small again afterwards. The tools for drawing come
 * when they are first needed.
 *
 * @returns undefined when no map has loaded yet.
 */
export async function drawOnMap<M extends HandMode>(mode: M, options: HandOptions<M>): Promise<Hand | undefined> {
  const {startHand} = await import("../../map/hand.ts");
  const before = enlarged.peek();
  const on = before ?? strategies.peek()[0];
  const map = on && openMaps.peek().get(on);
  if (!map) return undefined;
  enlarged.value = on;
  document.getElementById("maps")?.scrollIntoView({block: "start"});
  const small = (): void => {
    enlarged.value = before;
  };
  return startHand(map.gl, mode, {
    ...options,
    viewBack: true,
    finish: (drawn: Drawn[M]) => {
      small();
      options.finish(drawn);
    },
    cancel: () => {
      small();
      options.cancel?.();
    },
  } as HandOptions<M>);
}
