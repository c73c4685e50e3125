import {preferences} from "./preferences.ts";

/** Who made the background under the maps. */
export function TileCredit() {
  const tiles = preferences.value?.tiles;
  if (!tiles) return null;
  return <p class="small soft">Background: {tiles.attribution || new URL(tiles.template).host}</p>;
}
