import {writeFileSync} from "node:fs";
import {basename, join} from "node:path";
import type {LocalFrame} from "../../src/geo/frame.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {METRES_PER_INCH} from "../../src/units/factors.ts";
import {FIELDS, intoFrameOf} from "./farm.ts";
import {labReport} from "./lab-report.ts";
import {truthAt} from "./truth.ts";

/**
 * Takes the cores of each plan from the hidden truth and writes the lab's answer beside the field's other files, one
 * `lab-<strategy>.csv` per plan, all pulled the same day.
 *
 * @param fieldFolder - Named like the field: `sample-data/millrace`.
 * @param frame - The frame the plans' cores are in: that of the field made from the committed boundary.
 */
export function writeLabReports(fieldFolder: string, frame: LocalFrame, plans: readonly SamplingPlan[]): void {
  const field = FIELDS.find(({id}) => id === basename(fieldFolder));
  if (!field) throw new Error(`no sample field is called ${basename(fieldFolder)}`);
  const into = intoFrameOf(field, frame);
  for (const plan of plans) {
    const bags = plan.units.map(({id, cores}) => ({id, cores: cores.map(into)}));
    const depthIn = Math.round((plan.depth / METRES_PER_INCH) * 10) / 10;
    const csv = labReport((x, y) => truthAt(field, x, y), bags, field.seed, depthIn);
    writeFileSync(join(fieldFolder, `lab-${plan.strategy}.csv`), csv);
  }
}
