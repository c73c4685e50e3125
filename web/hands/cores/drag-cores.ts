import type {ApiProblem, Strategy} from "../../api/types.ts";
import {page, saveJob} from "../../state/field.ts";
import {enlarged, show} from "../../state/view.ts";
import {drawOnMap} from "../ground/on-map.ts";
import {coresOf, jobWith, type LonLat} from "./moves.ts";

/** Lets the cores of one plan be dragged over its enlarged map; all that were moved are saved together. */
export function dragCores(strategy: Strategy, tell: (problem: ApiProblem | undefined) => void): void {
  const cores = coresOf(strategy);
  const before = enlarged.peek();
  show.value = "plan";
  enlarged.value = strategy;
  const back = (): void => {
    enlarged.value = before;
  };
  void drawOnMap("points", {
    says: "Cores to be moved, each within the ground of its bag.",
    done: "Move them",
    geometry: {type: "MultiPoint", coordinates: cores.map(({at}) => [...at])},
    finish: ({coordinates}) => {
      back();
      const moved = cores.flatMap((core, i) => {
        const [lon = 0, lat = 0] = coordinates[i] ?? [];
        const to: LonLat = [lon, lat];
        return isElsewhere(core.at, to) ? [{...core, to}] : [];
      });
      const job = page.peek()?.job;
      if (job && moved.length > 0) void saveJob(jobWith(job, strategy, moved)).then(tell);
    },
    cancel: back,
  });
}

/** By more than files round places to. */
const isElsewhere = ([lon, lat]: LonLat, [east, north]: LonLat): boolean =>
  Math.abs(lon - east) > 2e-9 || Math.abs(lat - north) > 2e-9;
