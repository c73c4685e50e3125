import {distancesToCovariances, isotropicAxes, type VariogramModel} from "./covariance.ts";
import type {CrossValidated} from "./cross-validate.ts";
import {type KrigingOptions, krige, type PointValues} from "./kriging.ts";
import {dot, factorTriangle, solveLower, solveUpper} from "./kriging-solve.ts";

/**
 * Every point told by the others, the model as given.
 *
 * Where all points speak for every place, from the inverse of one matrix (Dubrule 1983): work grows with the cube of
 * the points once, not once for each. With local neighbourhoods, place by place. The model has seen the point it is asked
 * of, which flatters it a little.
 *
 * Checked against gstat 2.1-0 (`krige.cv`) and against leaving points out one by one.
 */
export function leaveOneOut(points: PointValues, model: VariogramModel, options: KrigingOptions = {}): CrossValidated {
  const {neighbours = Infinity, within = Infinity, trend = "none", readings} = options;
  const n = points.values.length;
  if (neighbours >= n - 1 && within === Infinity && trend === "none" && !readings && n > 2) {
    return fromInverse(points, model) ?? oneByOne(points, model, options);
  }
  return oneByOne(points, model, options);
}

function oneByOne(points: PointValues, model: VariogramModel, options: KrigingOptions): CrossValidated {
  const without = Int32Array.from(points.values, (_, i) => i);
  const {values, variance} = krige(points, model, points, {...options, block: 0, filtered: false, without});
  return {predicted: values, variance};
}

/**
 * With P = C⁻¹ − C⁻¹1 (1′C⁻¹1)⁻¹ 1′C⁻¹, the error at point i is (P z)ᵢ / Pᵢᵢ and its variance 1 / Pᵢᵢ.
 *
 * @returns undefined when the covariances cannot be inverted.
 */
function fromInverse({x, y, values}: PointValues, model: VariogramModel): CrossValidated | undefined {
  const n = values.length;
  const packed = covariances(x, y, model);
  const inverse = new Float64Array(n);
  if (!factorTriangle(packed, n, inverse)) return undefined;
  const ones = new Float64Array(n).fill(1);
  solveLower(packed, n, inverse, ones, 0);
  const total = dot(ones, 0, ones, 0, n);
  solveUpper(packed, n, inverse, ones, 0); // now C⁻¹1
  const mean = dot(ones, 0, values, 0, n) / total;
  const residual = values.map((value) => value - mean);
  solveLower(packed, n, inverse, residual, 0);
  solveUpper(packed, n, inverse, residual, 0); // now P z

  const diagonal = new Float64Array(n);
  const column = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    // Column j of L⁻¹, whose squares add to (C⁻¹)ⱼⱼ; it is zero above j.
    column.fill(0);
    column[j] = inverse[j] as number;
    for (let i = j + 1, row = ((j + 1) * (j + 2)) / 2; i < n; row += ++i) {
      column[i] = -dot(packed, row + j, column, j, i - j) * (inverse[i] as number);
    }
    diagonal[j] = dot(column, j, column, j, n - j) - (ones[j] as number) ** 2 / total;
  }
  return {
    predicted: values.map((value, i) => value - (residual[i] as number) / (diagonal[i] as number)),
    variance: diagonal.map((d) => 1 / d),
  };
}

function covariances(x: Float64Array, y: Float64Array, model: VariogramModel): Float64Array {
  const {along, across} = isotropicAxes(model);
  const n = x.length;
  const packed = new Float64Array((n * (n + 1)) / 2);
  for (let i = 0, row = 0; i < n; row += ++i) {
    for (let j = 0; j <= i; j++) {
      const dx = (x[j] as number) - (x[i] as number);
      const dy = (y[j] as number) - (y[i] as number);
      packed[row + j] = (along[0] * dx + along[1] * dy) ** 2 + (across[0] * dx + across[1] * dy) ** 2;
    }
  }
  distancesToCovariances(packed, packed.length, model);
  for (let i = 0, at = 0; i < n; at += ++i + 1) packed[at] = (packed[at] as number) + model.nugget;
  return packed;
}
