import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {difference, intersection, invalidReason, makeValid, union} from "../geo/geos.ts";
import {areaM2} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {within} from "../grid/coverage.ts";
import type {Grid} from "../grid/grid.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import {burn, maskOf} from "../grid/rasterize.ts";
import {formatArea, formatNumber} from "../units/format.ts";

export interface SoilPolygon {
  /** Metres in the field's frame. */
  readonly shape: MultiPolygon;
  readonly properties: Readonly<Record<string, unknown>>;
}

export interface SoilMapOptions {
  /** Attribute that names the soil map unit. */
  readonly classField: string;
  /** Numeric attributes that become layers of their own. */
  readonly numeric?: readonly {readonly field: string; readonly label: string; readonly unit: string}[];
  /** Name of the map, for the record. Default "soil map". */
  readonly name?: string;
}

export interface SoilMapLayers {
  readonly classes: ClassLayer;
  readonly numeric: readonly Layer[];
  readonly issues: readonly Issue[];
}

/** Gaps and overlaps smaller than this are line width, m². */
const LEAST_AREA_M2 = 100;

/**
 * Soil map polygons as layers: one of map units, one for each numeric attribute asked for.
 *
 * A cell takes the polygon that holds its centre; where polygons overlap, the later one. Gaps and overlaps inside
 * the field are measured on the polygons, not on cells. Values that are missing or not numbers become NaN. Needs GEOS
 * loaded.
 *
 * @throws {FieldError} `soil-map/no-column` when an attribute is in no polygon, `soil-map/outside` when no polygon
 *   touches the field.
 */
export function soilMapLayers(
  field: Field,
  grid: Grid,
  polygons: readonly SoilPolygon[],
  options: SoilMapOptions,
): SoilMapLayers {
  const {classField, numeric = [], name = "soil map"} = options;
  for (const column of [classField, ...numeric.map((n) => n.field)]) requireColumn(polygons, column, name);
  const issues: Issue[] = [];
  const inField = polygons
    .map(({shape, properties}) => ({shape: intersection(sound(shape, issues, name), field.outline), properties}))
    .filter(({shape}) => areaM2(shape) > 0);
  if (inField.length === 0) {
    throw new FieldError("soil-map/outside", `No polygon of the ${name} touches ${field.name}.`, {
      hint: "Check that the soil map is of this field and names its coordinate system.",
    });
  }
  issues.push(...fitIssues(field, inField, name));

  const {owner} = burn(
    grid,
    inField.map(({shape}) => shape),
  );
  const mask = maskOf(grid, field.outline);
  const names = inField.map(({properties}) => className(properties[classField]));
  const classes = [...new Set(names.filter((n) => n !== undefined))].sort();
  const ofPolygon = (values: readonly number[]): Float64Array =>
    within(
      Float64Array.from(owner, (i) => (i === -1 ? Number.NaN : (values[i] as number))),
      mask,
    );
  const unnamed = inField.filter((_, i) => names[i] === undefined);
  if (unnamed.length > 0) issues.push(missingIssue(unnamed, classField, name));
  const madeFrom = {step: "layers/soil-map", inputs: [name], options: {classField, numeric}};
  return {
    classes: {
      id: "soil-unit",
      label: "Soil map unit",
      unit: "class",
      grid,
      values: ofPolygon(names.map((n) => (n === undefined ? Number.NaN : classes.indexOf(n)))),
      classes,
      madeFrom,
    },
    numeric: numeric.map(({field: column, label, unit}) => {
      const values = inField.map(({properties}) => numberIn(properties[column]));
      const missing = inField.filter((_, i) => Number.isNaN(values[i] as number));
      if (missing.length > 0) issues.push(missingIssue(missing, column, name));
      return {id: `soil-${column}`, label, unit, grid, values: ofPolygon(values), madeFrom};
    }),
    issues,
  };
}

function requireColumn(polygons: readonly SoilPolygon[], column: string, name: string): void {
  if (polygons.some(({properties}) => Object.hasOwn(properties, column))) return;
  const there = [...new Set(polygons.flatMap(({properties}) => Object.keys(properties)))];
  throw new FieldError("soil-map/no-column", `The ${name} has no attribute "${column}".`, {
    place: {column},
    hint: there.length > 0 ? `Name one of: ${there.join(", ")}.` : "Give a soil map with attributes.",
  });
}

/** Polygons that cross themselves are mended, and it is said. */
function sound(shape: MultiPolygon, issues: Issue[], name: string): MultiPolygon {
  const bad = invalidReason(shape);
  if (!bad) return shape;
  issues.push({
    code: "soil-map/mended",
    severity: "note",
    message: `A polygon of the ${name} is not valid (${bad.reason.toLowerCase()}); it was mended.`,
  });
  return makeValid(shape);
}

function fitIssues(field: Field, inField: readonly SoilPolygon[], name: string): Issue[] {
  const shapes = inField.map(({shape}) => shape);
  const covered = union(shapes);
  const gapM2 = areaM2(difference(field.outline, covered));
  const overlapM2 = shapes.reduce((sum, shape) => sum + areaM2(shape), 0) - areaM2(covered);
  const issues: Issue[] = [];
  if (gapM2 > LEAST_AREA_M2) {
    issues.push({
      code: "soil-map/gap",
      severity: "warning",
      message: `The ${name} leaves ${formatArea(gapM2, "us", 2)} of ${field.name} uncovered (${formatNumber((100 * gapM2) / areaM2(field.outline), 1)} %).`,
      hint: "Get the map for the whole field; cells without a map unit are judged by the other layers.",
    });
  }
  if (overlapM2 > LEAST_AREA_M2) {
    issues.push({
      code: "soil-map/overlap",
      severity: "warning",
      message: `Polygons of the ${name} overlap by ${formatArea(overlapM2, "us", 2)} in ${field.name}; the later one was taken there.`,
      hint: "Check that the file holds one survey, once.",
    });
  }
  return issues;
}

function missingIssue(polygons: readonly SoilPolygon[], column: string, name: string): Issue {
  const m2 = polygons.reduce((sum, {shape}) => sum + areaM2(shape), 0);
  return {
    code: "soil-map/missing-value",
    severity: "warning",
    message: `"${column}" of the ${name} is missing or unreadable on ${formatArea(m2, "us", 2)} of the field; it has no value there.`,
    place: {column},
    hint: "Fill the attribute in, or leave it out of the layers.",
  };
}

function className(value: unknown): string | undefined {
  if (typeof value === "number" && Number.isFinite(value)) return String(value);
  if (typeof value !== "string" || value.trim() === "") return undefined;
  return value.trim();
}

/** Numbers, also written as text; anything else is missing. */
function numberIn(value: unknown): number {
  if (typeof value === "number") return value;
  if (typeof value !== "string" || value.trim() === "") return Number.NaN;
  return Number(value);
}
