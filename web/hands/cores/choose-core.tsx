import {useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import type {Strategy} from "../../api/types.ts";
import {coresOf} from "./moves.ts";
import {leaveStepping, stepCore, stepping} from "./stepping.ts";

/** A core chosen from a list, to be moved by steps. */
export function ChooseCore({strategy}: {readonly strategy: Strategy}) {
  const bag = useSignal("");
  const cores = coresOf(strategy);
  useEffect(() => {
    bag.value = "";
    return leaveStepping;
  }, [strategy]);
  return (
    <div class="choose-unit">
      <select
        aria-label="Bag"
        value={bag.value}
        onChange={({currentTarget}) => {
          bag.value = currentTarget.value;
          leaveStepping();
        }}
      >
        <option value="">choose a bag</option>
        {[...new Set(cores.map((core) => core.bag))].map((one) => (
          <option key={one}>{one}</option>
        ))}
      </select>
      <select
        aria-label="Core"
        value={stepping.value?.id ?? ""}
        disabled={bag.value === ""}
        onChange={({currentTarget}) => {
          const core = cores.find(({id}) => id === currentTarget.value);
          if (core) stepCore(strategy, core);
          else leaveStepping();
        }}
      >
        <option value="">choose a core</option>
        {cores
          .filter((core) => core.bag === bag.value)
          .map(({id}) => (
            <option key={id}>{id}</option>
          ))}
      </select>
    </div>
  );
}
