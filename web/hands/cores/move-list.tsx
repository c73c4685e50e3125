import type {ApiProblem} from "../../api/types.ts";
import {NAMES} from "../../map/scenes.ts";
import {fresh, page, result, saveJob} from "../../state/field.ts";
import {pointedAt, show} from "../../state/view.ts";
import {coreOf, jobWithout, jobWithReason, movesIn} from "./moves.ts";

/** The cores that were put elsewhere: what came of each, why, and the way back. */
export function MoveList({tell}: {readonly tell: (problem: ApiProblem | undefined) => void}) {
  const job = page.value?.job;
  const moves = movesIn(job);
  if (!job || moves.length === 0) return null;
  const outcomes = fresh.value ? (result.value?.moves ?? []) : [];
  const save = async (next: typeof job) => tell(await saveJob(next));
  return (
    <ul class="list">
      {moves.map((move, i) => {
        const {strategy, to, reason} = move;
        const id = coreOf(move);
        const outcome = outcomes[i];
        return (
          <li key={`${strategy}/${id}/${i}`} class="rows-of">
            <div>
              <b>{id}</b> <span class="small soft">{strategy && NAMES[strategy].toLowerCase()}</span>
            </div>
            {outcome ? (
              <p class={outcome.applied ? "small" : "note strong"}>
                {!outcome.applied && <b>Left where it was. </b>}
                {outcome.sentence}
              </p>
            ) : (
              <p class="small soft">Being worked out…</p>
            )}
            <div class="row">
              <input
                type="text"
                aria-label={`Why core ${id} was moved`}
                placeholder="why"
                defaultValue={reason ?? ""}
                onKeyDown={({key, currentTarget}) => {
                  if (key === "Enter") currentTarget.blur();
                }}
                onBlur={({currentTarget}) => {
                  const why = currentTarget.value.trim();
                  if (why !== (reason ?? "")) void save(jobWithReason(job, i, why));
                }}
              />
              <button
                type="button"
                class="plain"
                onClick={() => {
                  show.value = "plan";
                  pointedAt.value = {lon: to[0], lat: to[1]};
                }}
              >
                show<span class="unseen"> core {id}</span>
              </button>
              <button type="button" class="plain" onClick={() => void save(jobWithout(job, i))}>
                put back<span class="unseen"> core {id}</span>
              </button>
            </div>
          </li>
        );
      })}
    </ul>
  );
}
