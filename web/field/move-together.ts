import type {GlMap} from "../map/maplibre.ts";

const maps = new Set<GlMap>();
let leading = false;

/** Lets a map pan and zoom together with the others. Returns what takes it out again. */
export function joinMaps(gl: GlMap): () => void {
  const other = [...maps][0];
  if (other) gl.jumpTo({center: other.getCenter(), zoom: other.getZoom()});
  maps.add(gl);
  const follow = () => {
    if (leading) return;
    leading = true;
    for (const map of maps) if (map !== gl) map.jumpTo({center: gl.getCenter(), zoom: gl.getZoom()});
    leading = false;
  };
  gl.on("move", follow);
  return () => {
    gl.off("move", follow);
    maps.delete(gl);
  };
}
