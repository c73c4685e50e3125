import type {ApiProblem, ZoneEdit} from "../../api/types.ts";
import {fresh, result} from "../../state/field.ts";
import {pointedAt} from "../../state/view.ts";
import {takeOutAll, takeOutEdit} from "./edits.ts";
import {placeIn, sayEdit, sayOutcome} from "./say-edit.ts";

interface Props {
  readonly edits: readonly ZoneEdit[];
  readonly tell: (wrong: ApiProblem | undefined) => void;
}

/** What was changed by hand, in order, and what came of each. */
export function EditList({edits, tell}: Props) {
  if (edits.length === 0) return null;
  const outcomes = fresh.value ? (result.value?.edits ?? []) : [];
  return (
    <>
      <ol class="list edits" aria-label="Changes by hand, in order">
        {edits.map((edit, i) => {
          const outcome = outcomes.find(({number}) => number === i + 1);
          const place = placeIn(edit);
          return (
            <li key={`${i}/${JSON.stringify(edit)}`}>
              <span>
                {i + 1}. {sayEdit(edit)}
              </span>
              <span class={`small ${outcome?.applied === false ? "cross" : "soft"}`}>{sayOutcome(outcome)}</span>
              <span class="small">
                {place && (
                  <button
                    type="button"
                    class="plain"
                    onClick={() => {
                      pointedAt.value = place;
                    }}
                  >
                    where<span class="unseen"> change {i + 1} is</span>
                  </button>
                )}
                <button type="button" class="plain" onClick={() => void takeOutEdit(i).then(tell)}>
                  take out<span class="unseen"> change {i + 1}</span>
                </button>
              </span>
            </li>
          );
        })}
      </ol>
      {edits.length > 1 && (
        <div>
          <button type="button" class="plain" onClick={() => void takeOutAll().then(tell)}>
            take out all: zones as built
          </button>
        </div>
      )}
    </>
  );
}
