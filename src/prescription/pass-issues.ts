import type {Issue} from "../errors.ts";
import {formatArea, formatLength, formatNumber, formatShort} from "../units/format.ts";
import {many, someOf} from "./count-words.ts";
import type {Merging, Product, SetbackTaken, Simplified} from "./prescription.ts";

// What a pass did to the rates beyond rounding and limits, in words.

export function levelIssues({analysis}: Product, levels: readonly number[], shiftedLb: number, acres: number): Issue[] {
  if (acres === 0) return [];
  return [
    {
      code: "prescription/levels",
      severity: "note",
      message:
        `${analysis} goes on at ${many(levels.length, "rate")} (${levels.map((level) => formatShort(level)).join(", ")} lb/ac): ` +
        `${formatNumber(acres, 1)} ac moved to the nearest, ${signed(shiftedLb)} lb over the field.`,
    },
  ];
}

export function setbackIssues({analysis}: Product, taken: readonly SetbackTaken[]): Issue[] {
  return taken.map(({name, kind, acres, openLb, lb}) => ({
    code: "prescription/setback",
    severity: "note",
    message:
      acres === 0
        ? `Setback "${name}" (${kind}) takes nothing off ${analysis}: it does not reach the field, or stricter ones hold there.`
        : `Setback "${name}" (${kind}): ${formatNumber(acres, 2)} ac, ${formatNumber(openLb - lb)} lb of ${analysis} taken out, ${formatNumber(lb)} lb left.`,
    hint: "Check local code for the distance and the rate.",
  }));
}

export function mergingIssues({analysis}: Product, merging: Merging): Issue[] {
  const {close, small, acresMoved, lbAdded, lbTaken, left, leastAreaM2, leastWidthM} = merging;
  const issues: Issue[] = [];
  if (close + small > 0) {
    issues.push({
      code: "prescription/merged",
      severity: "note",
      message:
        `${many(close, "polygon")} joined a neighbour of close rate, ${formatNumber(small)} for being too small or too narrow: ` +
        `${analysis} moved on ${formatNumber(acresMoved, 1)} ac, ${formatNumber(lbAdded)} lb added and ${formatNumber(lbTaken)} lb taken.`,
    });
  }
  if (left.length > 0) {
    issues.push({
      code: "prescription/too-small",
      severity: "warning",
      message: `${many(left.length, "polygon")} (${someOf(left)}) under ${formatArea(leastAreaM2, "us", 2)} or ${formatLength(leastWidthM)} wide ${left.length === 1 ? "has" : "have"} no neighbour to join.`,
      hint: "Expect the rate not to be reached there.",
    });
  }
  return issues;
}

/** @param after - Corners of the polygons as they are. */
export function simplifiedIssues(
  mostVertices: number | undefined,
  after: number,
  simplified: Simplified | undefined,
): Issue[] {
  const issues: Issue[] = [];
  if (simplified) {
    const {before, toleranceM, acresMoved} = simplified;
    issues.push({
      code: "prescription/simplified",
      severity: "note",
      message: `Inner borders were simplified by up to about ${formatLength(toleranceM, "us", 1)}: ${formatNumber(before)} corners became ${formatNumber(after)}; ${formatNumber(acresMoved, 2)} ac changed sides.`,
    });
  }
  if (mostVertices !== undefined && after > mostVertices) {
    issues.push({
      code: "prescription/over-budget",
      severity: "warning",
      message: `The polygons have ${formatNumber(after)} corners, more than the ${formatNumber(mostVertices)} allowed: the boundary and setbacks keep theirs.`,
      hint: "Merge polygons, use fewer rates, or simplify the boundary.",
    });
  }
  return issues;
}

function signed(lb: number): string {
  return `${lb > 0 ? "+" : ""}${formatNumber(lb)}`;
}
