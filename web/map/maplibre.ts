import * as maplibre from "maplibre-gl";
import "maplibre-gl/dist/maplibre-gl.css";
import workerUrl from "maplibre-gl/dist/maplibre-gl-worker.mjs?worker&url";

// The map library, set up once: its worker from our own files, and the packaged fonts ready before labels are drawn.

maplibre.setWorkerUrl(workerUrl);

export type {GeoJSONSource, ImageSource, Map as GlMap} from "maplibre-gl";
export {maplibre};

export const LABEL_FONT = "Source Sans 3";

/** Resolves when the label font can be drawn with. */
export async function fontsReady(): Promise<void> {
  await Promise.all(
    ["400 14px", "600 14px"].map((style) => document.fonts.load(`${style} "${LABEL_FONT}"`, "0123 ABC")),
  );
}
