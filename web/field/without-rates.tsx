import {useSignal} from "@preact/signals";
import type {ApiProblem} from "../api/types.ts";
import {TakeOffFaulty} from "../files/take-off.tsx";
import {openSheets} from "../hand-over/open-sheets.ts";
import {Problem} from "../parts/problem.tsx";
import {page, result, saveJob, undo, unrated} from "../state/field.ts";
import {type JobText, read, write} from "../stations/job-path.ts";
import {PlansLeftOut} from "./plans-left-out.tsx";

/** Why maps and plans are new and rates are missing, with what can be done about it. */
export function WithoutRates() {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const problem = unrated.value;
  const found = page.value;
  if (!found) return null;
  if (!problem) return <PlansLeftOut />;
  const {code} = problem;
  // Before crops and products are named there is nothing to leave out of.
  const rated = read(found.job, ["rates"]) !== undefined;
  const put = async (job: JobText) => {
    wrong.value = await saveJob(job);
  };
  return (
    <section aria-label="Why there are no rates" class="rows-of without-rates">
      <Problem problem={problem} />
      <TakeOffFaulty problem={problem} />
      <p class="small">
        Maps and plans are those of the job as it is now; rates wait.{" "}
        {code === "lab/other-plan" &&
          "The lab's results speak for the ground as it was sampled, and that has been divided in another way since. Take samples by the new plan, whose sheets are at Hand-over, and put their report in place of the old one; or go back."}
        {code === "recommend/no-test" &&
          "Take the missing samples by the plan, whose sheets are at Hand-over, and add their report at Files."}
      </p>
      <div class="row no-print">
        {found.canUndo && (
          <button type="button" onClick={() => void undo()}>
            Undo the last change
          </button>
        )}
        {code === "lab/other-plan" && (
          <button type="button" onClick={() => void put(markedAnew(found.job))}>
            The results fit: join them by sample id
          </button>
        )}
        {rated && code === "recommend/no-test" && (
          <button type="button" onClick={() => void put(write(found.job, ["rates", "missing"], "zero"))}>
            Spread nothing where there is no test
          </button>
        )}
        {rated && (
          <button type="button" onClick={() => void put(write(found.job, ["rates", "missing"], "leave out"))}>
            Leave plans without results out, rate the others
          </button>
        )}
        <button type="button" class="plain" onClick={openSheets}>
          sheets of the new plan
        </button>
      </div>
      {wrong.value && <Problem problem={wrong.value} />}
    </section>
  );
}

/** The job with its lab results tied to the plans as they are now, where they were tied to others. */
function markedAnew(job: JobText): JobText {
  return (result.value?.strategies ?? []).reduce<JobText>((next, {strategy, mark}) => {
    const path = ["lab", "plans", strategy];
    return read(next, path) === undefined ? next : write(next, path, mark);
  }, job);
}
