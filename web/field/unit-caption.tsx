import type {Strategy} from "../api/types.ts";
import type {Scene} from "../map/scene.ts";
import {many, NUTRIENT_NAMES} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {shapesOf} from "../state/shapes.ts";
import {selection, show} from "../state/view.ts";
import {say, unitOf} from "../units/shown.ts";
import {ground} from "../working/at-point.ts";
import {wanted} from "./three-maps.tsx";
import {sayWay} from "./way-to.ts";
import {nearest} from "./where-am-i.tsx";

interface Props {
  readonly strategy: Strategy;
  readonly scene: Scene | undefined;
}

/** What was tapped, in a line under its map, where the working is too far down to be seen; "why" leads there. */
export function UnitCaption({strategy, scene}: Props) {
  const chosen = selection.value;
  const made = result.value;
  if (!made || chosen?.strategy !== strategy) return null;
  const here = chosen.lon === undefined ? undefined : ground.value;
  const unit = chosen.unit ?? here?.units.find((one) => one.strategy === strategy)?.unit;
  if (!unit) {
    const words = here && !here.inside ? "Outside the field." : "Looking at the ground here…";
    return (
      <p class="unit-caption no-print" role="status">
        {words}
      </p>
    );
  }
  return (
    <p class="unit-caption no-print" role="status">
      <span>
        <b>{unit}</b>: {[...sizeOf(made.id, strategy, unit), ...rateOf(scene, unit)].join(", ")}
        {nearest.value?.name === unit && `; ${sayWay(nearest.value.way)} of you`}
      </span>
      <button type="button" class="plain" onClick={goToWorking}>
        why<span class="unseen">, the working of {unit}</span>
      </button>
    </p>
  );
}

/** Acres and cores of a unit, or of all of them together. */
function sizeOf(resultId: string, strategy: Strategy, unit: string): string[] {
  const units = shapesOf(resultId, `plan-${strategy}-units`)?.features ?? [];
  const own = units.filter(({id, properties}) => unit === "whole field" || String(properties?.sample ?? id) === unit);
  if (own.length === 0) return [];
  const sum = (name: string): number => own.reduce((total, {properties}) => total + Number(properties?.[name] ?? 0), 0);
  return [say(sum("acres"), "ac"), many(sum("cores"), "core")];
}

/** What the map says of a unit where it shows rates or differences. */
function rateOf(scene: Scene | undefined, unit: string): string[] {
  if (show.value !== "rate" && show.value !== "difference") return [];
  const texts = (scene?.areas.features ?? []).flatMap(({properties}) =>
    properties?.unit === unit && properties.text ? [String(properties.text)] : [],
  );
  const product = wanted.value?.product;
  const [text] = texts;
  if (!product || text === undefined) return [];
  const words = new Set(texts).size > 1 ? "several rates" : `${text} ${unitOf("lb/ac")}`;
  return [`${words} of ${product.analysis} for ${(NUTRIENT_NAMES[product.purpose] ?? product.purpose).toLowerCase()}`];
}

function goToWorking(): void {
  document.getElementById("side")?.scrollIntoView({behavior: "smooth", block: "start"});
  document.getElementById("side")?.focus({preventScroll: true});
}
