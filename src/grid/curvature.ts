/** Ways of saying how ground bends; see `curvature`. */
export const CURVATURES = ["profile", "plan", "tangential", "mean", "general"] as const;
export type CurvatureKind = (typeof CURVATURES)[number];

/** Gentler than this, the direction of the fall is noise. Rise per run. */
const LEVEL = 1e-6;

/**
 * How ground bends, in 1/m, **convex above zero**: ridges, brows and shoulders positive, hollows and foot slopes negative.
 *
 * With p, q the slopes to the east and north, r, t, s their changes (east, north, crosswise) and g = p² + q²:
 *
 * - profile, down the fall: −(p²r + 2pqs + q²t) / (g (1 + g)^1.5). Water speeds up where it is above zero.
 * - plan, of the contour line: −(q²r − 2pqs + p²t) / g^1.5. Grows without end where ground turns level.
 * - tangential, across the fall: −(q²r − 2pqs + p²t) / (g √(1 + g)). Water comes together where it is below zero.
 * - mean, of profile and tangential: −((1 + q²)r − 2pqs + (1 + p²)t) / (2 (1 + g)^1.5). Known on level ground too.
 * - general: −(r + t). About twice the mean on field slopes.
 *
 * The first three are 0 on level ground, which falls in no direction. NaN where any of the nine heights is missing:
 * one row at the edges.
 *
 * @param method - Surface through the window: Evans's of least squares (default, quieter) or Zevenbergen and Thorne's.
 *
 * Sources: Evans (1979), Zevenbergen and Thorne (1987), formulas from memory. Checked against a paraboloid, a plane,
 * and r.param.scale of GRASS 8.2.1.
 */
export function curvature(
  values: Float64Array,
  cols: number,
  cellSizeM: number,
  kind: CurvatureKind,
  method: "evans" | "zevenbergen-thorne" = "evans",
): Float64Array {
  const rows = values.length / cols;
  const curved = new Float64Array(values.length).fill(Number.NaN);
  const surface = method === "evans" ? evans : zevenbergenThorne;
  const z = new Float64Array(9);
  for (let row = 1; row < rows - 1; row++) {
    for (let col = 1; col < cols - 1; col++) {
      const centre = row * cols + col;
      for (let w = 0; w < 9; w++) {
        z[w] = values[centre + (Math.floor(w / 3) - 1) * cols + (w % 3) - 1] as number;
      }
      curved[centre] = bend(surface(z, cellSizeM), kind);
    }
  }
  return curved;
}

interface Surface {
  readonly p: number;
  readonly q: number;
  readonly r: number;
  readonly s: number;
  readonly t: number;
}

type Window = readonly [number, number, number, number, number, number, number, number, number];

function evans(z: Float64Array, h: number): Surface {
  const [z1, z2, z3, z4, z5, z6, z7, z8, z9] = z as unknown as Window;
  return {
    p: (z3 + z6 + z9 - z1 - z4 - z7) / (6 * h),
    q: (z1 + z2 + z3 - z7 - z8 - z9) / (6 * h),
    r: (z1 + z3 + z4 + z6 + z7 + z9 - 2 * (z2 + z5 + z8)) / (3 * h * h),
    s: (z3 + z7 - z1 - z9) / (4 * h * h),
    t: (z1 + z2 + z3 + z7 + z8 + z9 - 2 * (z4 + z5 + z6)) / (3 * h * h),
  };
}

function zevenbergenThorne(z: Float64Array, h: number): Surface {
  const [z1, z2, z3, z4, z5, z6, z7, z8, z9] = z as unknown as Window;
  return {
    p: (z6 - z4) / (2 * h),
    q: (z2 - z8) / (2 * h),
    r: (z4 + z6 - 2 * z5) / (h * h),
    s: (z3 + z7 - z1 - z9) / (4 * h * h),
    t: (z2 + z8 - 2 * z5) / (h * h),
  };
}

function bend({p, q, r, s, t}: Surface, kind: CurvatureKind): number {
  const g = p * p + q * q;
  if (kind === "general") return -(r + t);
  if (kind === "mean") return -((1 + q * q) * r - 2 * p * q * s + (1 + p * p) * t) / (2 * (1 + g) ** 1.5);
  if (g < LEVEL * LEVEL) return 0;
  if (kind === "profile") return -(p * p * r + 2 * p * q * s + q * q * t) / (g * (1 + g) ** 1.5);
  const across = -(q * q * r - 2 * p * q * s + p * p * t);
  return kind === "plan" ? across / g ** 1.5 : across / (g * Math.sqrt(1 + g));
}
