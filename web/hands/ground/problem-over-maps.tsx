import {Problem} from "../../parts/problem.tsx";
import {drawingProblem} from "./drawing-problem.ts";

/** Stands over the maps, where what was drawn is being put right. */
export function DrawingProblem() {
  return drawingProblem.value ? <Problem problem={drawingProblem.value} /> : null;
}
