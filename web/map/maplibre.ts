import regularUrl from "@fontsource/source-sans-3/files/source-sans-3-latin-400-normal.woff2?url";
import semiboldUrl from "@fontsource/source-sans-3/files/source-sans-3-latin-600-normal.woff2?url";
import * as maplibre from "maplibre-gl";
import "maplibre-gl/dist/maplibre-gl.css";
import workerUrl from "maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url";

// The map library, set up once: its worker from our own files, and the packaged fonts ready before labels are drawn.

maplibre.setWorkerUrl(workerUrl);
// Its threads start while the page is still asking for the field.
maplibre.prewarm();

export type {
  ExpressionSpecification,
  FilterSpecification,
  GeoJSONSource,
  ImageSource,
  Map as GlMap,
} from "maplibre-gl";
export {maplibre};

/** Family names with a digit in them are not understood by the map library, so the packaged font has a name of its own. */
export const LABEL_FONT = "MapSans";
/** The word at its end is read as a weight too. */
export const BOLD_LABEL_FONT = "MapSans SemiBold";

let loading: Promise<unknown> | undefined;

/** Resolves when labels can be drawn in the packaged font; a browser that cannot load it draws them in its own. */
export function fontsReady(): Promise<unknown> {
  loading ??= Promise.all(
    [
      {name: LABEL_FONT, url: regularUrl, weight: "400"},
      {name: BOLD_LABEL_FONT, url: semiboldUrl, weight: "600"},
    ].map(async ({name, url, weight}) => document.fonts.add(await new FontFace(name, `url(${url})`, {weight}).load())),
  ).catch(() => undefined);
  return loading;
}
