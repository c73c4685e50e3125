import type {TerraDrawMouseEvent} from "terra-draw";
import type {GlMap} from "./maplibre.ts";
import {rounded, type TerraMode} from "./terra.ts";

type Drag = (event: TerraDrawMouseEvent, ...rest: unknown[]) => void;

/**
 * What is pressed is what is taken up, however quick the pull: the map stays where it is from the press on, and the library,
 * which hears of a pull only where the pointer has got to by then, hears of it where it began. Two fingers move the map.
 *
 * @param takes - Whether there is something to be taken up there, by pixels of the map.
 * @returns What lets the map be pulled again.
 */
export function pressOn(gl: GlMap, mode: TerraMode, takes: (x: number, y: number) => boolean): () => void {
  let pressed: Pick<TerraDrawMouseEvent, "lng" | "lat" | "containerX" | "containerY"> | undefined;
  const press = (event: Press): void => {
    const {lngLat, point} = event;
    pressed = undefined;
    if ((event.points?.length ?? 1) > 1) return;
    pressed = {lng: rounded(lngLat.lng), lat: rounded(lngLat.lat), containerX: point.x, containerY: point.y};
    if (takes(point.x, point.y)) event.preventDefault();
  };
  const start = mode.onDragStart.bind(mode) as Drag;
  const drag = mode.onDrag.bind(mode) as Drag;
  mode.onDragStart = (event: TerraDrawMouseEvent, ...rest: unknown[]) => {
    if (!pressed) return;
    start({...event, ...pressed}, ...rest);
    drag(event, ...rest);
  };
  gl.on("mousedown", press);
  gl.on("touchstart", press);
  return () => {
    gl.off("mousedown", press);
    gl.off("touchstart", press);
  };
}

/** Of the map library, by mouse or finger. */
interface Press {
  readonly lngLat: {readonly lng: number; readonly lat: number};
  readonly point: {readonly x: number; readonly y: number};
  readonly points?: readonly unknown[];
  preventDefault(): void;
}
