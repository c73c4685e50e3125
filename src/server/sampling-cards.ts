import {createHash} from "node:crypto";
import type {Strategy} from "../sampling/plan.ts";
import type {SamplingFileCard} from "./api-types.ts";

const STRATEGIES: readonly Strategy[] = ["whole-field", "grid", "zone"];

/** Files for the crew and the lab, each with the plan it is of. */
export function samplingCards(files: ReadonlyMap<string, Uint8Array>): SamplingFileCard[] {
  return [...files].map(([name, bytes]) => {
    const strategy = STRATEGIES.find((one) => isOfPlan(name, one));
    const sha256 = createHash("sha256").update(bytes).digest("hex");
    return {name, bytes: bytes.length, sha256, ...(strategy && {strategy})};
  });
}

/** By its name, as "plan-grid.gpx" and "plan-grid-sheet.html" of the grid. */
export const isOfPlan = (name: string, strategy: Strategy): boolean => /^[-.]/.test(afterPlan(name, strategy));

const afterPlan = (name: string, strategy: Strategy): string =>
  name.startsWith(`plan-${strategy}`) ? name.slice(`plan-${strategy}`.length) : "";
