import {effect} from "@preact/signals";
import type {GlMap} from "../map/maplibre.ts";
import {loadPreferences, preferences} from "./preferences.ts";

/** Lays the user's background tiles on the paper of a map, faint, under all that is drawn; nothing when there are none. */
export function layTiles(gl: GlMap, under: string | undefined): void {
  void loadPreferences();
  const stop = effect(() => {
    const tiles = preferences.value?.tiles;
    if (!tiles || gl.getSource(TILES)) return;
    gl.addSource(TILES, {type: "raster", tiles: [tiles.template], tileSize: 256, maxzoom: tiles.maxZoom});
    const paint = {"raster-opacity": 0.5, "raster-saturation": -0.4, "raster-fade-duration": 0};
    gl.addLayer({id: TILES, type: "raster", source: TILES, paint}, under);
  });
  // A tile that does not come leaves the paper as it is; everything else that goes wrong is still said.
  gl.on("error", (event) => {
    if ((event as {sourceId?: string}).sourceId !== TILES) console.error(event.error);
  });
  gl.once("remove", stop);
}

const TILES = "tiles";
