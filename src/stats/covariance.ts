/** How likeness falls with distance; the number of a Matérn is its smoothness. */
export type VariogramShape = "spherical" | "exponential" | "gaussian" | "matern-1.5" | "matern-2.5";

/** All shapes, in the order in which equal fits are preferred. */
export const VARIOGRAM_SHAPES: readonly VariogramShape[] = [
  "spherical",
  "exponential",
  "gaussian",
  "matern-1.5",
  "matern-2.5",
];

/** Half the squared difference to expect of two values, by how far apart they are. Plain data. */
export interface VariogramModel {
  readonly shape: VariogramShape;
  /** What values differ by at no distance: noise of measuring, and variation finer than the points. */
  readonly nugget: number;
  /** What distance adds to that. 0: no structure. */
  readonly partialSill: number;
  /** The distance parameter of the shape; `effectiveRange` is what people mean by range. */
  readonly range: number;
  /** Geometric: `range` holds along the azimuth (degrees clockwise from north), `ratio` × range across it. */
  readonly anisotropy?: {readonly azimuthDeg: number; readonly ratio: number};
}

/** Effective range over distance parameter: where likeness has fallen to 5 % (spherical: to nothing). */
const REACH: Readonly<Record<VariogramShape, number>> = {
  spherical: 1,
  exponential: -Math.log(0.05),
  gaussian: Math.sqrt(-Math.log(0.05)),
  "matern-1.5": 4.743864518390578, // (1 + u) e^−u = 0.05
  "matern-2.5": 5.918649346310188, // (1 + u + u²/3) e^−u = 0.05
};

/** Distance beyond which values are no longer alike, along the longer axis. */
export function effectiveRange({shape, range}: Pick<VariogramModel, "shape" | "range">): number {
  return range * REACH[shape];
}

/** Half the expected squared difference at a distance (along the longer axis). 0 at no distance. */
export function semivariance(model: VariogramModel, distance: number): number {
  if (!(distance > 0)) return 0;
  const squared = Float64Array.of(distance * distance);
  distancesToCovariances(squared, 1, model);
  return model.nugget + model.partialSill - (squared[0] as number);
}

/** The same for a difference of position, where the model is not alike in every direction. */
export function semivarianceBetween(model: VariogramModel, dx: number, dy: number): number {
  const {along, across} = isotropicAxes(model);
  return semivariance(model, Math.hypot(along[0] * dx + along[1] * dy, across[0] * dx + across[1] * dy));
}

/**
 * Turns squared distances into the covariances of a model, nugget left out, in place.
 *
 * For inner loops: one branch for all, nothing allocated. Shapes are scaled as in gstat (no √(2k) in the Matérns).
 */
export function distancesToCovariances(
  squared: Float64Array,
  count: number,
  {shape, partialSill, range}: VariogramModel,
): void {
  const scale = 1 / range;
  if (shape === "spherical") {
    for (let i = 0; i < count; i++) {
      const u = Math.sqrt(squared[i] as number) * scale;
      squared[i] = u < 1 ? partialSill * (1 - u * (1.5 - 0.5 * u * u)) : 0;
    }
  } else if (shape === "exponential") {
    for (let i = 0; i < count; i++) squared[i] = partialSill * Math.exp(-Math.sqrt(squared[i] as number) * scale);
  } else if (shape === "gaussian") {
    for (let i = 0; i < count; i++) squared[i] = partialSill * Math.exp(-(squared[i] as number) * scale * scale);
  } else if (shape === "matern-1.5") {
    for (let i = 0; i < count; i++) {
      const u = Math.sqrt(squared[i] as number) * scale;
      squared[i] = partialSill * (1 + u) * Math.exp(-u);
    }
  } else {
    for (let i = 0; i < count; i++) {
      const u = Math.sqrt(squared[i] as number) * scale;
      squared[i] = partialSill * (1 + u + (u * u) / 3) * Math.exp(-u);
    }
  }
}

/**
 * The two rows of the matrix that turns differences of position into a plane where the model is the same in every
 * direction: [along, across / ratio].
 */
export function isotropicAxes({anisotropy}: Pick<VariogramModel, "anisotropy">): {
  readonly along: readonly [number, number];
  readonly across: readonly [number, number];
} {
  if (!anisotropy) return {along: [1, 0], across: [0, 1]};
  const angle = (anisotropy.azimuthDeg * Math.PI) / 180;
  const [sin, cos] = [Math.sin(angle), Math.cos(angle)];
  return {along: [sin, cos], across: [cos / anisotropy.ratio, -sin / anisotropy.ratio]};
}
