import type {Issue} from "../api/types.ts";
import {PlaceText} from "../parts/problem.tsx";
import {besideIt} from "../units/shown.ts";

/** Remarks with where they are about and what to do. */
export function IssueList({issues}: {readonly issues: readonly Issue[]}) {
  if (issues.length === 0) return null;
  return (
    <ul class="list">
      {issues.map((issue) => (
        <li class={`note ${issue.severity === "note" ? "" : "strong"}`} key={`${issue.code}/${issue.message}`}>
          {besideIt(issue.message)} {issue.hint && <b style="font-weight:600">{besideIt(issue.hint)}</b>}
          {issue.place && <PlaceText place={issue.place} />}
        </li>
      ))}
    </ul>
  );
}
