import "./hand.css";
import type {GlMap} from "./maplibre.ts";

/** What keys do to a drawing. */
export interface KeysTo {
  /** The cross stands somewhere else, or has come. */
  moved(): void;
  /** Space: a corner where the cross is. */
  set(): void;
  finish(): void;
  cancel(): void;
  back(): void;
  takeOut(): void;
}

export interface Cross {
  /** Whether keys are being used: without, the pointer says where. */
  readonly shown: () => boolean;
  /** @param viewBack - The map goes back to where it was before keys moved it. */
  remove(viewBack: boolean): void;
}

/** Pixels of a step; with Shift of a long one. */
const STEP = 8;
const LONG_STEP = 64;
const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** A cross in the middle of a map, the ground moved beneath it by arrow keys; the keys of drawing go to `to`. */
export function crossOver(gl: GlMap, to: KeysTo): Cross {
  const canvas = gl.getCanvas();
  const container = gl.getContainer();
  const cross = document.createElement("div");
  cross.className = "hand-cross";
  cross.setAttribute("aria-hidden", "true");
  cross.hidden = true;
  container.append(cross);
  let before: ReturnType<typeof viewOf> | undefined;
  const show = (): void => {
    if (!cross.hidden) return;
    cross.hidden = false;
    to.moved();
  };
  const hide = (): void => {
    cross.hidden = true;
  };
  const press = (event: KeyboardEvent): boolean => {
    const {key, shiftKey} = event;
    const onMap = event.target === canvas;
    const arrow = ARROWS[key];
    if (onMap && arrow) {
      before ??= viewOf(gl);
      const step = shiftKey ? LONG_STEP : STEP;
      gl.panBy([arrow[0] * step, arrow[1] * step], {animate: false});
      cross.hidden = false;
      to.moved();
    } else if (onMap && key === " ") {
      show();
      before ??= viewOf(gl);
      if (!event.repeat) to.set();
    } else if (key === "Enter" && (onMap || event.target === document.body)) to.finish();
    else if (key === "Escape") to.cancel();
    else if (key === "Backspace" || (key.toLowerCase() === "z" && !shiftKey && (event.ctrlKey || event.metaKey)))
      to.back();
    else if (key === "Delete") to.takeOut();
    else return false;
    return true;
  };
  const down = (event: KeyboardEvent): void => {
    if (writing(event.target) || event.altKey || !press(event)) return;
    event.preventDefault();
    event.stopPropagation();
  };
  const focused = (): void => {
    if (canvas.matches(":focus-visible")) show();
  };
  // Who pulls the map wants it where it comes to lie.
  const pulled = (): void => {
    hide();
    before = undefined;
  };
  addEventListener("keydown", down, {capture: true});
  canvas.addEventListener("focus", focused);
  canvas.addEventListener("pointermove", hide);
  canvas.addEventListener("pointerdown", pulled);
  const hadFocus = document.activeElement as HTMLElement | null;
  canvas.focus({preventScroll: true});
  return {
    shown: () => !cross.hidden,
    remove(viewBack) {
      removeEventListener("keydown", down, {capture: true});
      canvas.removeEventListener("focus", focused);
      canvas.removeEventListener("pointermove", hide);
      canvas.removeEventListener("pointerdown", pulled);
      cross.remove();
      if (before && viewBack) gl.jumpTo(before);
      if (document.activeElement === canvas && hadFocus?.isConnected) hadFocus.focus({preventScroll: true});
    },
  };
}

const viewOf = (gl: GlMap) => ({center: gl.getCenter(), zoom: gl.getZoom()});

function writing(target: EventTarget | null): boolean {
  return (
    target instanceof HTMLTextAreaElement ||
    target instanceof HTMLSelectElement ||
    (target instanceof HTMLInputElement && !["checkbox", "radio", "button"].includes(target.type))
  );
}
