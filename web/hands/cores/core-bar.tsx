import {useSignal} from "@preact/signals";
import {useLayoutEffect, useRef} from "preact/hooks";
import type {ApiProblem} from "../../api/types.ts";
import {NAMES} from "../../map/scenes.ts";
import {Problem} from "../../parts/problem.tsx";
import {page, saveJob} from "../../state/field.ts";
import {jobWith} from "./moves.ts";
import {leaveStepping, steppedTo, stepping} from "./stepping.ts";
import {sayOffset, sayStep, stepsOffered} from "./steps.ts";

const WAYS = [
  {key: "ArrowLeft", name: "west", sign: "←", east: -1, north: 0},
  {key: "ArrowUp", name: "north", sign: "↑", east: 0, north: 1},
  {key: "ArrowDown", name: "south", sign: "↓", east: 0, north: -1},
  {key: "ArrowRight", name: "east", sign: "→", east: 1, north: 0},
] as const;
/** With Shift. */
const LONG = 5;

/** Stands over the maps while a core is moved by steps, with keys or buttons; a ring shows where to. */
export function CoreBar() {
  const now = stepping.value;
  const found = steppedTo.value;
  return now && found ? <Bar key={now.id} /> : null;
}

function Bar() {
  const bar = useRef<HTMLElement>(null);
  const step = useSignal(1);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  // At once: keys pressed meanwhile are meant for it.
  useLayoutEffect(() => {
    const before = document.activeElement as HTMLElement | null;
    bar.current?.querySelector("button")?.focus({preventScroll: true});
    return () => {
      if (before?.isConnected) before.focus({preventScroll: true});
    };
  }, []);
  const [now, found] = [stepping.value, steppedTo.value];
  if (!now || !found) return null;
  const {core, to} = found;
  const steps = stepsOffered();
  const length = steps[step.value] as number;
  const moved = sayOffset(now.by);
  const go = (way: {readonly east: number; readonly north: number}, times = 1) => {
    const {east, north} = now.by;
    const by = {east: east + times * way.east * length, north: north + times * way.north * length};
    stepping.value = {...now, by};
  };
  const put = async () => {
    const job = page.peek()?.job;
    if (!job || moved === "") return;
    wrong.value = await saveJob(jobWith(job, now.strategy, [{...core, to}]));
  };
  const onKey = (event: KeyboardEvent) => {
    const way = WAYS.find(({key}) => key === event.key);
    const onChoice = event.target instanceof HTMLSelectElement;
    if (way && !onChoice) go(way, event.shiftKey ? LONG : 1);
    else if (event.key === "Escape") leaveStepping();
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <section class="hand-bar no-print" aria-label={`Core ${core.id}`} ref={bar} onKeyDown={onKey}>
      <p>
        <b>
          Core {core.id}, {NAMES[now.strategy].toLowerCase()}.
        </b>{" "}
        <span class="small">Arrow keys move it, with Shift {LONG} steps at once.</span>
        <span class="small figures said" role="status">
          {moved === "" ? "Not moved yet." : `${moved} of where it lies.`}
        </span>
      </p>
      <span class="row">
        {WAYS.map((way) => (
          <button type="button" key={way.key} onClick={() => go(way)} aria-label={`${sayStep(length)} ${way.name}`}>
            {way.sign}
          </button>
        ))}
      </span>
      <label class="row small">
        by
        <select
          value={String(step.value)}
          onChange={({currentTarget}) => {
            step.value = Number(currentTarget.value);
          }}
        >
          {steps.map((metres, i) => (
            <option key={metres} value={String(i)}>
              {sayStep(metres)}
            </option>
          ))}
        </select>
      </label>
      <button type="button" class="primary" disabled={moved === ""} onClick={() => void put()}>
        Put it there
      </button>
      <button type="button" class="plain" onClick={leaveStepping}>
        leave it
      </button>
      {wrong.value && <Problem problem={wrong.value} />}
    </section>
  );
}
