import {BOLD_LABEL_FONT, type GlMap} from "./maplibre.ts";
import {INK, SHEET} from "./ramps.ts";

const ACCENT = "#7a3e1d";
type Filter = NonNullable<Parameters<GlMap["setFilter"]>[1]>;
const of = (what: GroundWhat): Filter => ["==", ["get", "what"], what];
/** What a feature of these layers is. */
export type GroundWhat = "keep-out" | "setback" | "draft" | "name";

const ON_PAPER = {"line-color": SHEET, "line-width": 3.4, "line-opacity": 0.9} as const;

/**
 * Layers for ground that is kept out of or set back: hatched and outlined, so that it is read on any colour and in print.
 * Properties: `what`, `hatch` where it has one, and `name` for the point at which a name stands.
 */
export function addGroundLayers(gl: GlMap): void {
  const under = "boundary";
  gl.addLayer(
    {
      id: "grounds",
      type: "fill",
      source: "grounds",
      filter: ["has", "hatch"],
      paint: {"fill-color": SHEET, "fill-opacity": 0.55},
    },
    under,
  );
  gl.addLayer(
    {
      id: "grounds-hatch",
      type: "fill",
      source: "grounds",
      filter: ["has", "hatch"],
      paint: {"fill-pattern": ["get", "hatch"]},
    },
    under,
  );
  gl.addLayer({id: "grounds-paper", type: "line", source: "grounds", paint: ON_PAPER}, under);
  gl.addLayer(
    {
      id: "keep-outs-edge",
      type: "line",
      source: "grounds",
      filter: of("keep-out"),
      paint: {"line-color": INK, "line-width": 1.4},
    },
    under,
  );
  gl.addLayer(
    {
      id: "setbacks-edge",
      type: "line",
      source: "grounds",
      filter: of("setback"),
      paint: {"line-color": INK, "line-width": 1.6, "line-dasharray": [4, 1.6, 1, 1.6]},
    },
    under,
  );
  gl.addLayer({
    id: "draft-edge",
    type: "line",
    source: "grounds",
    filter: of("draft"),
    paint: {"line-color": ACCENT, "line-width": 2.4},
  });
  gl.addLayer({
    id: "draft-places",
    type: "circle",
    source: "grounds",
    filter: ["all", of("draft"), ["==", ["geometry-type"], "Point"]] as Filter,
    paint: {
      "circle-radius": 6,
      "circle-color": SHEET,
      "circle-stroke-color": ACCENT,
      "circle-stroke-width": 2.5,
    },
  });
  gl.addLayer({
    id: "ground-names",
    type: "symbol",
    source: "grounds",
    filter: of("name"),
    minzoom: 15,
    layout: {
      "text-field": ["get", "name"],
      "text-font": [BOLD_LABEL_FONT],
      "text-size": 12,
      "text-max-width": 8,
      "text-padding": 2,
    },
    paint: {"text-color": INK, "text-halo-color": SHEET, "text-halo-width": 1.6},
  });
}
