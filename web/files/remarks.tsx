import {result} from "../state/field.ts";
import {asksForSomething} from "./asks.ts";
import {IssueList} from "./issue-list.tsx";

/** Everything doubtful the last run met: what to act on first, then what is good to know. */
export function Remarks() {
  const issues = result.value?.issues ?? [];
  const act = issues.filter(asksForSomething);
  const notes = issues.filter((issue) => !asksForSomething(issue));
  return (
    <section class="rows-of" style="gap:14px" aria-label="Remarks">
      <h2>Remarks</h2>
      {issues.length === 0 && <p class="soft">Nothing doubtful was met.</p>}
      <IssueList issues={act} />
      {notes.length > 0 && (
        <details open={act.length === 0}>
          <summary>{notes.length} to know of</summary>
          <IssueList issues={notes} />
        </details>
      )}
    </section>
  );
}
