import type {Geometry} from "geojson";
import type {Drawn} from "../../map/at-hand.ts";
import {page} from "../../state/field.ts";
import {openMaps} from "../../state/maps.ts";
import {enlarged, show} from "../../state/view.ts";
import {zoneShapes} from "./zone-shapes.ts";

export interface Sketch {
  readonly mode: "line" | "polygon";
  readonly says: string;
  readonly done: string;
  readonly finish: (drawn: Drawn["line" | "polygon"]) => void;
}

/** Enlarges the map of zones and lets a line or polygon be drawn on it, drawn to the borders that are there. */
export async function drawOnZones({mode, ...sketch}: Sketch): Promise<void> {
  show.value = "zones";
  enlarged.value = "zone";
  // The tools for drawing come when they are first needed; meanwhile the map takes its new size.
  const [{startHand}] = await Promise.all([import("../../map/hand.ts"), nextFrame().then(nextFrame)]);
  const map = openMaps.value.get("zone");
  if (!map) return;
  map.gl
    .getContainer()
    .closest(".maps")
    ?.scrollIntoView({block: innerWidth <= ONE_COLUMN_PX ? "start" : "nearest"});
  startHand<"line" | "polygon">(map.gl, mode, {
    ...sketch,
    viewBack: true,
    snapTo: [...(zoneShapes() ?? []).map(({geometry}) => geometry), outlineOf()],
  });
}

/** As in the style sheet: on narrow screens the maps lie over what is being set. */
const ONE_COLUMN_PX = 1100;

function outlineOf(): Geometry {
  return {type: "MultiPolygon", coordinates: (page.value?.card.outline ?? []) as never};
}

const nextFrame = (): Promise<unknown> => new Promise((resolve) => requestAnimationFrame(resolve));
