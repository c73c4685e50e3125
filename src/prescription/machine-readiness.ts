import type {Issue} from "../errors.ts";
import {formatArea, formatNumber} from "../units/format.ts";
import {many, someOf} from "./count-words.ts";

/** What the checks need to know of a polygon, from a prescription of ours or from a file. */
export interface PolygonSize {
  readonly id: string;
  readonly areaM2: number;
  readonly vertices: number;
  readonly rate: number;
}

// Common practice, no source: sizes that older controllers are known to balk at.
const MOST_POLYGONS = 10_000;
const MOST_VERTICES = 100_000;
const MOST_VERTICES_IN_ONE = 1000;
const MOST_RATES = 250;
/** Smaller pieces are left-overs of an overlay, not ground. */
const SLIVER_M2 = 10;
/** Half an acre: below this a spreader is still changing its rate when it leaves. Common practice, no source. */
const SMALL_M2 = 2023.4282112;

/** Remarks on what a controller may refuse or a spreader cannot follow. None is an error. */
export function machineReadiness(polygons: readonly PolygonSize[]): Issue[] {
  const issues: Issue[] = [];
  const warn = (code: string, message: string, hint: string): void => {
    issues.push({code: `prescription/${code}`, severity: "warning", message, hint});
  };
  const vertices = polygons.reduce((sum, p) => sum + p.vertices, 0);
  if (polygons.length > MOST_POLYGONS || vertices > MOST_VERTICES) {
    warn(
      "many-polygons",
      `${formatNumber(polygons.length)} polygons with ${formatNumber(vertices)} corners: many controllers take fewer.`,
      "Use larger cells or zones, or simplify their outlines.",
    );
  }
  const busiest = polygons.reduce<PolygonSize | undefined>(
    (a, b) => (a && a.vertices >= b.vertices ? a : b),
    undefined,
  );
  if (busiest && busiest.vertices > MOST_VERTICES_IN_ONE) {
    warn(
      "many-corners",
      `Polygon ${busiest.id} has ${formatNumber(busiest.vertices)} corners: many controllers take fewer.`,
      "Simplify its outline.",
    );
  }
  const rates = new Set(polygons.map((p) => p.rate)).size;
  if (rates > MOST_RATES) {
    warn(
      "many-rates",
      `${formatNumber(rates)} different rates: many controllers take up to ${MOST_RATES}.`,
      "Round the rates to a larger step.",
    );
  }
  const slivers = polygons.filter((p) => p.areaM2 < SLIVER_M2);
  if (slivers.length > 0) {
    warn(
      "slivers",
      `${many(slivers.length, "polygon")} of less than ${SLIVER_M2} m² (${someOf(slivers.map((p) => p.id))}).`,
      "Merge each with the neighbour it belongs to.",
    );
  }
  const small = polygons.filter((p) => p.areaM2 < SMALL_M2 && p.areaM2 >= SLIVER_M2);
  if (small.length > 0) {
    const least = small.reduce((a, b) => (b.areaM2 < a.areaM2 ? b : a));
    issues.push({
      code: "prescription/small-polygons",
      severity: "note",
      message: `${many(small.length, "polygon")} of less than half an acre; the smallest, ${least.id}, has ${formatArea(least.areaM2, "us", 2)}.`,
      hint: "A spreader may not reach the rate there: merge them if it matters.",
    });
  }
  return issues;
}
