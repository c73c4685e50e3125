import type {MultiPolygon, Polygon} from "geojson";
import type {Strategy} from "../api/types.ts";
import {boxOf} from "../map/field-map.ts";
import {NAMES} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {openMaps} from "../state/maps.ts";
import {shapesOf} from "../state/shapes.ts";
import {enlarged, select, selection, show} from "../state/view.ts";
import {strategies} from "./three-maps.tsx";

/** Pixels around a bag's ground that is brought in view. */
const AROUND = 70;
/** So near that cores lie well apart. */
const NEAREST_ZOOM = 17.5;

/** A bag of the plans on show chosen by its number: the maps go to its ground. */
export function FindBag() {
  if (show.value !== "plan") return null;
  const on = enlarged.value ? [enlarged.value] : strategies.value;
  const {strategy, unit} = selection.value ?? {};
  return (
    <select
      class="find-bag"
      aria-label="Find on the map"
      value={strategy && unit ? `${strategy}/${unit}` : ""}
      onChange={({currentTarget}) => {
        const [plan, id] = currentTarget.value.split("/");
        if (plan && id) goTo(plan as Strategy, id);
      }}
    >
      <option value="">find a bag</option>
      {on.map((one) => (
        <optgroup key={one} label={NAMES[one]}>
          {bagsOf(one).map(({id}) => (
            <option key={id} value={`${one}/${id}`}>
              {id}
            </option>
          ))}
        </optgroup>
      ))}
    </select>
  );
}

function goTo(strategy: Strategy, unit: string): void {
  select({strategy, unit});
  const ground = bagsOf(strategy).find(({id}) => id === unit)?.geometry;
  const map = openMaps.peek().get(strategy);
  if (!ground || !map) return;
  const [west, south, east, north] = boxOf(asMany(ground));
  map.gl.fitBounds([west, south, east, north], {padding: AROUND, maxZoom: NEAREST_ZOOM, animate: false});
  // Once the line under the map is there, which is to be in sight too.
  requestAnimationFrame(() => map.gl.getContainer().closest("figure")?.scrollIntoView({block: "nearest"}));
}

/** The bags of a plan with their ground; empty until they have come. */
function bagsOf(strategy: Strategy): readonly {readonly id: string; readonly geometry: Polygon | MultiPolygon}[] {
  const made = result.value;
  const name = `plan-${strategy}-units`;
  const found = made?.shapes.includes(name) ? shapesOf(made.id, name) : undefined;
  return (found?.features ?? []).flatMap(({id, properties, geometry}) =>
    geometry.type === "Polygon" || geometry.type === "MultiPolygon"
      ? [{id: String(properties?.sample ?? id), geometry}]
      : [],
  );
}

const asMany = (shape: Polygon | MultiPolygon): MultiPolygon =>
  shape.type === "MultiPolygon" ? shape : {type: "MultiPolygon", coordinates: [shape.coordinates]};
