import {FieldError} from "../../errors.ts";
import type {Feature, FeatureSet} from "../../geo/features.ts";
import {KG_PER_HA_PER_LB_PER_ACRE, SQUARE_METRES_PER_ACRE} from "../../units/factors.ts";
import {nearestName} from "../../units/nearest-name.ts";
import {dataItem, L_PER_HA_PER_GAL_PER_ACRE} from "./data-dictionary.ts";
import type {ReadTask, TaskData, ZoneValue} from "./task-data.ts";

/** A field's boundary, or the zones of a task, as shapes with a column for each value. */
export interface TaskLayer extends FeatureSet {
  readonly kind: "boundary" | "zones";
  /** Unit of each column of rates: lb/ac, gal/ac and seeds/ac; other values in their own. */
  readonly units: ReadonlyMap<string, string>;
}

/** US units of rates, and how many of the dictionary's unit make one. Set and applied rates alike. */
const US: Readonly<Record<string, {unit: string; per: number}>> = {
  "kg/ha": {unit: "lb/ac", per: KG_PER_HA_PER_LB_PER_ACRE},
  "L/ha": {unit: "gal/ac", per: L_PER_HA_PER_GAL_PER_ACRE},
  "/m2": {unit: "seeds/ac", per: 1 / SQUARE_METRES_PER_ACRE},
};

/** A value of a zone in the unit people in the US write it in, and what to call it. */
export function usValue({value, unit, ddi, product}: ZoneValue): {name: string; unit: string; value: number} {
  const us = US[unit] ?? {unit, per: 1};
  return {name: product ?? dataItem(ddi).name, unit: us.unit, value: value / us.per};
}

/**
 * Everything in task data that has a shape: `"boundary"` of the field (`"boundary of …"` where there are several), and
 * the zones of each task under the task's name. Tasks whose map is a grid have none.
 */
export function taskLayers({fields, tasks}: TaskData): TaskLayer[] {
  const bounded = fields.filter(({boundary}) => boundary.length > 0);
  const boundaries = bounded.map(({name, boundary, farm, customer}): TaskLayer => {
    const geometry = {type: "MultiPolygon" as const, coordinates: boundary};
    const properties = {name, ...(farm !== undefined && {farm}), ...(customer !== undefined && {customer})};
    return {
      kind: "boundary",
      name: bounded.length === 1 ? "boundary" : `boundary of ${name}`,
      features: [{geometry, properties}],
      units: new Map(),
    };
  });
  return [...boundaries, ...tasks.flatMap((task) => zoneLayer(task) ?? [])];
}

/**
 * The layer a user means: by its name without regard to case, or the only one.
 *
 * @throws {FieldError} `iso11783/no-shapes`, `iso11783/several`, `iso11783/no-such-layer`.
 */
export function pickTaskLayer(data: TaskData, layer: string | undefined, file: string): TaskLayer {
  const choices = taskLayers(data);
  const names = choices.map(({name}) => name);
  const [first] = choices;
  if (!first) {
    const grid = data.tasks.some((task) => task.grid !== undefined);
    throw new FieldError(
      "iso11783/no-shapes",
      `${file} holds no shapes${grid ? ": its rate map is a grid of cells" : ""}.`,
      {place: {file}, hint: "Give the map as zones, a GeoJSON file or a shapefile."},
    );
  }
  if (layer === undefined) {
    if (choices.length === 1) return first;
    throw new FieldError("iso11783/several", `${file} holds ${choices.length} layers: ${names.join(", ")}.`, {
      place: {file},
      hint: `Say which one in the job, as in "layer": "${first.name}".`,
    });
  }
  const found = choices.find(({name}) => name.toLowerCase() === layer.trim().toLowerCase());
  if (found) return found;
  const near = nearestName(layer, names);
  throw new FieldError("iso11783/no-such-layer", `${file} holds no layer "${layer}", but: ${names.join(", ")}.`, {
    place: {file},
    hint: near ? `Did you mean "${near}"?` : "Use one of these names.",
  });
}

function zoneLayer({name, zones}: ReadTask): TaskLayer | undefined {
  const shaped = zones.filter(({shape}) => shape.length > 0);
  if (shaped.length === 0) return undefined;
  const units = new Map<string, string>();
  const features = shaped.map(({code, name: label, shape, values}): Feature => {
    const columns: [string, number][] = [];
    for (const found of values.map(usValue)) {
      const heading = `${found.name} (${found.unit})`;
      const repeats = columns.filter(([other]) => other === heading || other.startsWith(`${heading} #`)).length;
      const column = repeats === 0 ? heading : `${heading} #${repeats + 1}`;
      units.set(column, found.unit);
      columns.push([column, found.value]);
    }
    const [only] = shape;
    return {
      id: label,
      geometry:
        shape.length === 1 && only ? {type: "Polygon", coordinates: only} : {type: "MultiPolygon", coordinates: shape},
      properties: {zone: code, name: label, ...Object.fromEntries(columns)},
    };
  });
  return {kind: "zones", name, features, units};
}
