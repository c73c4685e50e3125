import type {Position} from "geojson";
import type {TerraDrawMouseEvent} from "terra-draw";
import type {GlMap} from "./maplibre.ts";
import {rounded, type TerraMode} from "./terra.ts";

type Drag = (event: TerraDrawMouseEvent, ...rest: unknown[]) => void;

/**
 * What is pressed is what is taken up, however quick the pull: the map stays where it is from the press on, and the library,
 * which hears of a pull only where the pointer has got to by then, hears of it where it began. Two fingers move the map.
 *
 * @param takes - The corner or place to be taken up there, by pixels of the map; the library alone reaches half as far.
 * @returns What lets the map be pulled again.
 */
export function pressOn(gl: GlMap, mode: TerraMode, takes: (x: number, y: number) => Position | undefined): () => void {
  let pressed: Pick<TerraDrawMouseEvent, "lng" | "lat" | "containerX" | "containerY"> | undefined;
  const press = (event: Press): void => {
    const {lngLat, point} = event;
    pressed = undefined;
    if ((event.points?.length ?? 1) > 1) return;
    const taken = takes(point.x, point.y);
    if (taken) event.preventDefault();
    const [lng = lngLat.lng, lat = lngLat.lat] = taken ?? [];
    const {x, y} = taken ? gl.project([lng, lat]) : point;
    pressed = {lng: rounded(lng), lat: rounded(lat), containerX: x, containerY: y};
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
