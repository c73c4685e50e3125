import type {Issue} from "../../errors.ts";
import type {Field} from "../../geo/field.ts";
import {polygonAreaM2} from "../../geo/measure.ts";
import type {MultiPolygon} from "../../geo/shapes.ts";
import type {Grid} from "../../grid/grid.ts";
import {varianceExplained} from "../../stats/variance-explained.ts";
import {formatArea, formatNumber} from "../../units/format.ts";
import {buildZones} from "../build-zones.ts";
import {cellsOfShapes, describeZones} from "../describe-zones.ts";
import {type Feature, featureMatrix} from "../feature-matrix.ts";
import type {ZoneMap} from "../zone-map.ts";
import {type ZoneOptions, zoneSettings} from "../zone-options.ts";
import {applyEdit, type Divide, type DrawnZone, NoLongerApplies} from "./apply-edit.ts";
import type {EditOutcome, ZoneEdit} from "./zone-edit.ts";

export interface EditedZones {
  readonly map: ZoneMap;
  /** One for each edit, in order. */
  readonly outcomes: readonly EditOutcome[];
}

/** More zones than this nobody samples or tells apart on a map. */
const MOST_ZONES = 60;

/**
 * A zone map with a list of edits made to it, in order.
 *
 * The map is a valid coverage after every edit. Zones keep their numbers where they can: new ones get the next number,
 * and when one goes those above it move down. An edit that has nothing to work on any more, as when a new season moved the
 * zones, is left out with a warning that says why; the others are made.
 *
 * @param input.features - For the means of zones and for splitting by kind of ground; may be empty for a map without
 *   layers, and then splits by kind do not apply.
 * @param options - Those the map was built with.
 *
 * Randomness: `options.seed`, for splits by kind. Needs GEOS.
 */
export function replayEdits(
  {field, grid, features}: {field: Field; grid: Grid; features: readonly Feature[]},
  map: ZoneMap,
  edits: readonly ZoneEdit[],
  options: ZoneOptions = {},
): EditedZones {
  if (edits.length === 0) return {map, outcomes: []};
  const divide = dividerOf({field, grid, features}, options);
  const outcomes: EditOutcome[] = [];
  const issues: Issue[] = [];
  let zones: readonly DrawnZone[] = map.zones.map(({shape, label, id}) => ({
    shape,
    name: label === `Zone ${id}` ? undefined : label,
  }));
  edits.forEach((edit, i) => {
    try {
      const next = applyEdit(field, zones, edit, divide);
      if (next.length > MOST_ZONES) {
        throw new NoLongerApplies(`it would make ${next.length} zones`, placeOf(edit), `Keep to ${MOST_ZONES}.`);
      }
      zones = next;
      outcomes.push({number: i + 1, edit: edit.edit, applied: true});
    } catch (error) {
      if (!(error instanceof NoLongerApplies)) throw error;
      outcomes.push({number: i + 1, edit: edit.edit, applied: false, reason: error.message});
      const [lon, lat] = error.at;
      issues.push({
        code: "zones/edit-not-applied",
        severity: "warning",
        message: `Edit ${i + 1} (${edit.edit}) does not apply to this map: ${error.message}.`,
        place: {lon, lat},
        hint: error.hint,
      });
    }
  });
  const {minArea} = zoneSettings(field.area, options);
  return {
    map: edited({field, grid, features}, map, zones, {
      edits,
      issues: [...issues, ...smallIssues(zones, map, minArea)],
      options,
    }),
    outcomes,
  };
}

function edited(
  {field, grid, features}: {field: Field; grid: Grid; features: readonly Feature[]},
  map: ZoneMap,
  zones: readonly DrawnZone[],
  {edits, issues, options}: {edits: readonly ZoneEdit[]; issues: readonly Issue[]; options: ZoneOptions},
): ZoneMap {
  const shapes = zones.map(({shape}) => shape);
  const cells = cellsOfShapes(grid, field.outline, shapes);
  return {
    grid,
    cells,
    zones: describeZones(
      shapes,
      cells,
      features,
      zones.map(({name}) => name),
    ),
    varianceExplained: {
      clustered: map.varianceExplained.clustered,
      tidied: explainedOfLayers({field, grid, features}, cells, options),
    },
    issues: [...map.issues, ...issues],
    madeFrom: {
      step: "zones/edit",
      inputs: [...map.madeFrom.inputs],
      options: {edits, editedMap: {step: map.madeFrom.step, ...map.madeFrom.options}},
      ...(map.madeFrom.seed !== undefined && {seed: map.madeFrom.seed}),
    },
  };
}

/** Share of the variance of the layers that a map explains; 0 without layers. */
export function explainedOfLayers(
  {field, grid, features}: {field: Field; grid: Grid; features: readonly Feature[]},
  cells: Uint8Array,
  options: ZoneOptions,
): number {
  if (features.length === 0) return 0;
  const matrix = featureMatrix(field, grid, features, zoneSettings(field.area, options).weights);
  return varianceExplained(
    matrix,
    Uint8Array.from(matrix.cells, (cell) => cells[cell] as number),
  );
}

/** Builds zones within a zone, as if it were the field. */
function dividerOf(
  {field, grid, features}: {field: Field; grid: Grid; features: readonly Feature[]},
  options: ZoneOptions,
): Divide {
  return (shape: MultiPolygon, parts: number) => {
    if (features.length === 0) return [shape];
    const ground: Field = {...field, outline: shape};
    const {minArea} = zoneSettings(field.area, options);
    try {
      return buildZones({field: ground, grid, features}, {...options, minArea, count: parts}).zones.map(
        (zone) => zone.shape,
      );
    } catch (error) {
      // A zone too small or too even to be divided is left as it is; the edit then says so.
      if ((error as {name?: string}).name === "FieldError") return [shape];
      throw error;
    }
  };
}

function placeOf(edit: ZoneEdit): readonly [number, number] {
  if ("polygon" in edit) return edit.polygon[0]?.[0] as readonly [number, number];
  return "zones" in edit ? (edit.zones[0]?.at as readonly [number, number]) : edit.zone.at;
}

/** Pieces under the minimum area that the edits left. */
function smallIssues(zones: readonly DrawnZone[], map: ZoneMap, minArea: number): Issue[] {
  const count = (shapes: readonly MultiPolygon[]): number =>
    shapes.flat().filter((piece) => polygonAreaM2(piece) < minArea).length;
  const small = count(zones.map(({shape}) => shape)) - count(map.zones.map(({shape}) => shape));
  if (small <= 0) return [];
  return [
    {
      code: "zones/edited-piece-small",
      severity: "note",
      message: `The edits left ${formatNumber(small)} more ${small === 1 ? "piece" : "pieces"} under ${formatArea(minArea)} than there were; a machine may not follow ${small === 1 ? "it" : "them"}.`,
    },
  ];
}
