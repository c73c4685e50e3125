import {useSignal} from "@preact/signals";
import type {ApiProblem, Strategy} from "../../api/types.ts";
import {strategies} from "../../field/three-maps.tsx";
import {NAMES} from "../../map/scenes.ts";
import {Problem} from "../../parts/problem.tsx";
import {fresh, page} from "../../state/field.ts";
import {enlarged} from "../../state/view.ts";
import {ChooseCore} from "./choose-core.tsx";
import {dragCores} from "./drag-cores.ts";
import {MoveList} from "./move-list.tsx";
import {coresOf} from "./moves.ts";

/** Cores put elsewhere by who knows the ground: by dragging, by steps, and back again. */
export function CoresByHand() {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const asked = useSignal<Strategy | undefined>(undefined);
  const known = strategies.value;
  const strategy = asked.value ?? enlarged.value ?? (known.includes("grid") ? "grid" : known[0]) ?? "grid";
  const tell = (problem: ApiProblem | undefined) => {
    wrong.value = problem;
  };
  const ready = fresh.value && coresOf(strategy).length > 0;
  return (
    <fieldset>
      <legend>Cores by hand</legend>
      <p class="small soft">
        A core may be moved within the ground of its bag, out of keep-outs. It keeps its number, and results keep their
        bags.
        {page.value?.job.lab !== undefined &&
          " Cores that are already taken go in as the crew's log, which says where they were really taken."}
      </p>
      <label class="setting">
        Of the plan
        <select
          value={strategy}
          onChange={({currentTarget}) => {
            asked.value = currentTarget.value as Strategy;
          }}
        >
          {known.map((one) => (
            <option key={one} value={one}>
              {NAMES[one]}
            </option>
          ))}
        </select>
      </label>
      {ready ? (
        <>
          <div>
            <button type="button" onClick={() => dragCores(strategy, tell)}>
              Drag cores on the map
            </button>
          </div>
          <ChooseCore strategy={strategy} />
        </>
      ) : (
        <p class="small soft">Cores can be moved when the plan is worked out.</p>
      )}
      {wrong.value && <Problem problem={wrong.value} />}
      <MoveList tell={tell} />
    </fieldset>
  );
}
