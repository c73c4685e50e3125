import type {Issue} from "../errors.ts";
import {FieldError} from "../errors.ts";
import {coveragePct, within} from "../grid/coverage.ts";
import type {Grid} from "../grid/grid.ts";
import type {Layer, LayerUnit} from "../grid/layer.ts";
import type {Raster} from "../grid/raster.ts";
import {type ResampleMethod, resampleRaster} from "../grid/resample.ts";
import {formatNumber} from "../units/format.ts";

/**
 * A raster (imagery, conductivity, any measured surface) as a layer of the field.
 *
 * @param mask - 1 for cells of the field; others come out NaN.
 * @throws {FieldError} `raster/outside` when it has no data in the field.
 */
export function rasterLayer<U extends LayerUnit>(
  raster: Raster,
  grid: Grid,
  mask: Uint8Array,
  options: {readonly id: string; readonly label: string; readonly unit: U; readonly method?: ResampleMethod},
): {layer: Layer<U>; issues: readonly Issue[]} {
  const {values, method} = resampleRaster(raster, grid, options.method);
  const layer: Layer<U> = {
    id: options.id,
    label: options.label,
    unit: options.unit,
    grid,
    values: within(values, mask),
    madeFrom: {step: "layers/raster", inputs: [raster.name], options: {method}},
  };
  return {layer, issues: coverIssues(raster.name, values, mask)};
}

/** What part of the field a raster leaves out. @throws {FieldError} `raster/outside` when all of it. */
export function coverIssues(name: string, values: Float64Array, mask: Uint8Array): Issue[] {
  const covered = coveragePct(values, mask);
  if (covered === 0) {
    throw new FieldError("raster/outside", `${name} has no data inside the field.`, {
      place: {file: name},
      hint: "Check that it is of this field and that its coordinate system is named correctly.",
    });
  }
  if (covered >= 99.95) return [];
  return [
    {
      code: "raster/part-of-field",
      severity: "warning",
      message: `${name} has data for ${formatNumber(covered, 1)} % of the field; the rest has no value.`,
      place: {file: name},
      hint: "Get a raster that covers the whole field, with some ground around it.",
    },
  ];
}
