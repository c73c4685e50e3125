import type {GlMap} from "../map/maplibre.ts";

/** The maps on the page, each with what brings the whole field in view. */
const maps = new Map<GlMap, () => void>();
let leading = false;

/** Lets a map pan and zoom together with the others. Returns what takes it out again. */
export function joinMaps(gl: GlMap, fit: () => void): () => void {
  const other = [...maps.keys()][0];
  if (other) gl.jumpTo({center: other.getCenter(), zoom: other.getZoom()});
  maps.set(gl, fit);
  const follow = () => {
    if (leading) return;
    leading = true;
    for (const map of maps.keys()) if (map !== gl) map.jumpTo({center: gl.getCenter(), zoom: gl.getZoom()});
    leading = false;
  };
  gl.on("move", follow);
  return () => {
    gl.off("move", follow);
    maps.delete(gl);
  };
}

/** Fits the field in the widest map; the others follow. */
export function fitAll(): void {
  const widest = [...maps].sort(([a], [b]) => b.getContainer().clientWidth - a.getContainer().clientWidth)[0];
  widest?.[1]();
}
