import {Problem} from "../../parts/problem.tsx";
import {boundaryProblem} from "./boundary.ts";

/** Stands over the maps, where the boundary is being put right. */
export function BoundaryProblem() {
  return boundaryProblem.value ? <Problem problem={boundaryProblem.value} /> : null;
}
