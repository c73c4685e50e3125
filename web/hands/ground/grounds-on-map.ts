import type {Feature} from "geojson";
import type {GroundKind} from "../../api/types.ts";
import type {GroundWhat} from "../../map/ground-layers.ts";
import {HATCH_KEEP_OUT, HATCH_SETBACK} from "../../map/hatches.ts";
import {labelFeatures} from "../../map/label-features.ts";
import {SHEET} from "../../map/ramps.ts";
import {result} from "../../state/field.ts";
import {shapesOf} from "../../state/shapes.ts";
import {show, side} from "../../state/view.ts";
import {draft} from "./draft.ts";

const HATCHES: Readonly<Record<GroundKind, string>> = {"keep-out": HATCH_KEEP_OUT, setback: HATCH_SETBACK};

/** Which of the two the maps show: keep-outs with the plan, setbacks with the rates, both where they are set. */
export function groundsShown(): GroundKind[] {
  const both = side.value === "ground";
  return [
    ...(both || show.value === "plan" ? (["keep-out"] as const) : []),
    ...(both || show.value === "rate" ? (["setback"] as const) : []),
  ].filter((kind) => result.value?.shapes.includes(`${kind}s`));
}

/** What the maps draw of them, with what has just been drawn. Reads signals. */
export function groundsOnMap(): Feature[] {
  const made = result.value;
  const grounds = groundsShown().flatMap((kind) => {
    const shapes = made ? (shapesOf(made.id, `${kind}s`)?.features ?? []) : [];
    return shapes.flatMap((shape): Feature[] => {
      const name = String(shape.properties?.name ?? kind);
      const names = labelFeatures(shape.geometry, {text: name, on: SHEET}).slice(0, 1);
      return [feature(shape, kind, {hatch: HATCHES[kind]}), ...names.map((one) => feature(one, "name", {name}))];
    });
  });
  const drawn = draft.value;
  return drawn ? [...grounds, feature({geometry: drawn.geometry}, "draft", {})] : grounds;
}

const feature = ({geometry}: Pick<Feature, "geometry">, what: GroundWhat, more: object): Feature => ({
  type: "Feature",
  geometry,
  properties: {what, ...more},
});
