import {useSignal} from "@preact/signals";
import type {ApiProblem, Issue} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {Problem} from "../parts/problem.tsx";
import {page, result, saveJob} from "../state/field.ts";
import {read, write} from "../stations/job-path.ts";

const MISSING = ["rates", "missing"] as const;

/** Which plans the job leaves without rates, and why, as long as it does. */
export function PlansLeftOut() {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const left = (result.value?.issues ?? []).filter(({code}) => code === "rates/plan-left-out");
  if (left.length === 0 || read(page.value?.job, MISSING) !== "leave out") return null;
  return (
    <section aria-label="Plans without rates" class="rows-of without-rates">
      <div class="note strong">
        <p>
          <b>{left.length === 1 ? "One plan is" : `${left.length} plans are`} left without rates.</b> Maps and ledger
          show the others alone. A report with their results is added at Files.
        </p>
        <ul class="list small">
          {left.map((issue) => (
            <li key={issue.message}>{saidOf(issue)}</li>
          ))}
        </ul>
      </div>
      <div class="row no-print">
        <button
          type="button"
          onClick={async () => {
            wrong.value = await saveJob((job) => write(job, MISSING, undefined));
          }}
        >
          Ask for their results again
        </button>
      </div>
      {wrong.value && <Problem problem={wrong.value} />}
    </section>
  );
}

/** "Grid: no result for MRG07." */
function saidOf({message}: Issue) {
  const [, strategy = "", why = message] = LEFT_OUT.exec(message) ?? [];
  const name = NAMES[strategy as keyof typeof NAMES];
  return (
    <>
      {name && <b>{name}. </b>}
      {why}
    </>
  );
}

const LEFT_OUT = /^The (\S+) plan has no rates and is left out of the comparison\. (.*)$/s;
