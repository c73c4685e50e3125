import type {GlMap} from "../map/maplibre.ts";

/** The maps on the page, each with what brings the whole field in view. */
const maps = new Map<GlMap, () => void>();
let leading = false;
/** Where they were when the whole field was last brought in view. */
let whole: string | undefined;

const viewOf = (gl: GlMap): string => {
  const {lng, lat} = gl.getCenter();
  return [lng, lat, gl.getZoom()].map((number) => number.toFixed(7)).join(" ");
};

const widthOf = (gl: GlMap): number => gl.getContainer().clientWidth;

/** Lets a map pan and zoom together with the others. Returns what takes it out again. */
export function joinMaps(gl: GlMap, fit: () => void): () => void {
  const other = [...maps.keys()][0];
  if (other) gl.jumpTo({center: other.getCenter(), zoom: other.getZoom()});
  else whole = viewOf(gl);
  maps.set(gl, fit);
  // The first may be out of sight, behind one that is enlarged.
  if (other && widthOf(gl) > widthOf(other) && viewOf(gl) === whole) fitAll();
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
  const [gl, bringInView] = [...maps].sort(([a], [b]) => widthOf(b) - widthOf(a))[0] ?? [];
  bringInView?.();
  whole = gl && viewOf(gl);
}

/** In a window of another size a whole field is fitted anew; a view that was chosen stays. */
export function fitAgain(): void {
  const [gl] = maps.keys();
  if (gl && viewOf(gl) === whole) requestAnimationFrame(fitAll);
}
