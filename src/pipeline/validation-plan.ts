import {areaM2, distanceM} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {ValidationSet} from "../sampling/validation-set.ts";
import {metres, squareMetres} from "../units/quantity.ts";

/** Validation bags as a plan of circles, so that they are set and followed up like any other. */
export function validationPlan({bags, depth, issues, madeFrom}: ValidationSet): SamplingPlan {
  const stops = bags.flatMap(({cores}) => cores);
  return {
    strategy: "grid",
    units: bags.map(({id, centre, cores}, i) => {
      const radius = Math.max(1, ...cores.map((core) => distanceM(core, centre))) + 2;
      const ring = Array.from({length: 33}, (_, k) => {
        const angle = (2 * Math.PI * (k % 32)) / 32;
        return {x: centre.x + radius * Math.cos(angle), y: centre.y + radius * Math.sin(angle)};
      });
      return {
        id,
        label: `place ${i + 1}`,
        shape: [[ring]],
        area: squareMetres(areaM2([[ring]])),
        cores,
        centre,
      };
    }),
    depth,
    pooled: false,
    walk: metres(stops.slice(1).reduce((sum, p, i) => sum + distanceM(stops[i] as XY, p), 0)),
    seed: madeFrom.seed ?? 0,
    issues,
    madeFrom,
  };
}
