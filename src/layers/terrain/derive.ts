import {aspectDegrees, exposure} from "../../grid/aspect.ts";
import {breachDepressions} from "../../grid/breach.ts";
import {type CurvatureKind, curvature} from "../../grid/curvature.ts";
import {fillDepressions} from "../../grid/fill.ts";
import {type Flow, flowAccumulation} from "../../grid/flow-accumulation.ts";
import {findPonds} from "../../grid/ponding.ts";
import {positionAbove} from "../../grid/position.ts";
import {slopeDegrees} from "../../grid/slope.ts";
import {wetnessIndex} from "../../grid/wetness.ts";
import type {TerrainName} from "./names.ts";
import type {SettledTerrain} from "./options.ts";

/** What can be worked out from one surface of heights, each on demand and once. */
export interface Derived {
  readonly values: (name: TerrainName) => Float64Array;
  readonly flow: () => Flow;
  readonly ponds: () => ReturnType<typeof findPonds>;
}

export function derive(heights: Float64Array, cols: number, cell: number, settled: SettledTerrain): Derived {
  const {gradient, relativeRadiusM, radiiM, drainage, breach, ponds: limits} = settled;
  const slope = once(() => slopeDegrees(heights, cols, cell, gradient));
  const turned = once(() => exposure(heights, cols, cell, gradient));
  const flow = once(() => {
    const open = (): Float64Array =>
      breachDepressions(heights, cols, {reachCells: breach.reachM / cell, depth: breach.depthM}).heights;
    return flowAccumulation(fillDepressions(drainage === "breach" ? open() : heights, cols), cols, settled.flow);
  });
  const ponds = once(() => findPonds(heights, fillDepressions(heights, cols).levels, cols, cell, limits));
  const bent = (kind: CurvatureKind) => (): Float64Array => curvature(heights, cols, cell, kind);
  const ways: Readonly<Record<TerrainName, () => Float64Array>> = {
    elevation: () => heights,
    slope,
    aspect: () => aspectDegrees(heights, cols, gradient),
    northness: () => turned().northness,
    eastness: () => turned().eastness,
    "profile curvature": bent("profile"),
    "plan curvature": bent("plan"),
    "tangential curvature": bent("tangential"),
    "mean curvature": bent("mean"),
    "general curvature": bent("general"),
    "relative elevation": () => positionAbove(heights, cols, cell, relativeRadiusM),
    "near position": () => positionAbove(heights, cols, cell, radiiM.near),
    "far position": () => positionAbove(heights, cols, cell, radiiM.far, radiiM.near),
    "catchment area": () => flow().cells.map((cells) => cells * cell * cell),
    "water from beyond": () => heights.map((z, i) => (Number.isNaN(z) ? z : (flow().fromEdge[i] as number))),
    wetness: () => wetnessIndex(flow().cells, slope(), cell),
    ponding: () => ponds().depth,
  };
  return {values: (name) => ways[name](), flow, ponds};
}

function once<T>(make: () => T): () => T {
  let made: {readonly value: T} | undefined;
  return () => {
    made ??= {value: make()};
    return made.value;
  };
}
