import {distancesToCovariances, isotropicAxes, type VariogramModel} from "./covariance.ts";

/** The 16 points that stand for a square, and how alike the square is with itself. */
export interface Block {
  /** Offsets from the middle, in the plane where the model is the same in every direction. */
  readonly u: Float64Array;
  readonly v: Float64Array;
  /** Sum 1. */
  readonly weights: Float64Array;
  /** Mean covariance of two points of the square, nugget left out. */
  readonly variance: number;
}

/** Four-point Gauss-Legendre rule on −1 to 1 (Abramowitz and Stegun 1964, table 25.4). */
const NODES = [-0.8611363115940526, -0.33998104358485626, 0.33998104358485626, 0.8611363115940526] as const;
const WEIGHTS = [0.34785484513745385, 0.6521451548625461, 0.6521451548625461, 0.34785484513745385] as const;

/** A square of this side as points and weights. A nugget averages out over it and plays no part (as in gstat). */
export function blockOf(model: VariogramModel, side: number): Block {
  const {along, across} = isotropicAxes(model);
  const u = new Float64Array(16);
  const v = new Float64Array(16);
  const weights = new Float64Array(16);
  for (let q = 0; q < 16; q++) {
    const dx = ((NODES[q >> 2] as number) * side) / 2;
    const dy = ((NODES[q & 3] as number) * side) / 2;
    u[q] = along[0] * dx + along[1] * dy;
    v[q] = across[0] * dx + across[1] * dy;
    weights[q] = ((WEIGHTS[q >> 2] as number) * (WEIGHTS[q & 3] as number)) / 4;
  }
  const covariances = new Float64Array(256);
  for (let pair = 0; pair < 256; pair++) {
    const [a, b] = [pair >> 4, pair & 15];
    covariances[pair] = ((u[a] as number) - (u[b] as number)) ** 2 + ((v[a] as number) - (v[b] as number)) ** 2;
  }
  distancesToCovariances(covariances, 256, model);
  let variance = 0;
  for (let pair = 0; pair < 256; pair++) {
    variance += (weights[pair >> 4] as number) * (weights[pair & 15] as number) * (covariances[pair] as number);
  }
  return {u, v, weights, variance};
}
