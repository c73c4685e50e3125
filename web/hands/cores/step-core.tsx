import {useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import type {ApiProblem, Strategy} from "../../api/types.ts";
import {page, saveJob} from "../../state/field.ts";
import {openMaps} from "../../state/maps.ts";
import {pointedAt, show} from "../../state/view.ts";
import {coresOf, jobWith} from "./moves.ts";
import {type Offset, placeAt, sayOffset, sayStep, stepsOffered} from "./steps.ts";

const WAYS = [
  {key: "ArrowUp", name: "north", sign: "↑", east: 0, north: 1},
  {key: "ArrowLeft", name: "west", sign: "←", east: -1, north: 0},
  {key: "ArrowRight", name: "east", sign: "→", east: 1, north: 0},
  {key: "ArrowDown", name: "south", sign: "↓", east: 0, north: -1},
] as const;

const NOWHERE: Offset = {east: 0, north: 0};

interface Props {
  readonly strategy: Strategy;
  readonly tell: (problem: ApiProblem | undefined) => void;
}

/** One core chosen from a list and moved step by step, by keys or buttons; a ring on the maps shows where to. */
export function StepCore({strategy, tell}: Props) {
  const cores = coresOf(strategy);
  const bag = useSignal("");
  const chosen = useSignal("");
  const by = useSignal(NOWHERE);
  const step = useSignal(1);
  const core = cores.find(({id}) => id === chosen.value);
  const steps = stepsOffered();
  const length = steps[step.value] as number;
  const leave = () => {
    chosen.value = "";
    by.value = NOWHERE;
  };
  useEffect(() => {
    bag.value = "";
    leave();
  }, [strategy]);
  // The ring stands where the core would go.
  const to = core && placeAt(core.at, by.value);
  useEffect(() => {
    if (to) pointedAt.value = {lon: to[0], lat: to[1]};
    return () => {
      pointedAt.value = undefined;
    };
  }, [to?.[0], to?.[1]]);
  const go = ({east, north}: {readonly east: number; readonly north: number}, times = 1) => {
    by.value = {east: by.value.east + times * east * length, north: by.value.north + times * north * length};
  };
  const moved = sayOffset(by.value);
  const put = async () => {
    const job = page.peek()?.job;
    if (!job || !core || !to || moved === "") return;
    tell(await saveJob(jobWith(job, strategy, [{...core, to}])));
    leave();
  };
  const onKey = (event: KeyboardEvent) => {
    const way = WAYS.find(({key}) => key === event.key);
    if (way) go(way, event.shiftKey ? 5 : 1);
    else if (event.key === "Escape") leave();
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  const bags = [...new Set(cores.map((one) => one.bag))];
  return (
    <div class="rows-of">
      <div class="choose-unit">
        <select
          aria-label="Bag"
          value={bag.value}
          onChange={({currentTarget}) => {
            bag.value = currentTarget.value;
            leave();
          }}
        >
          <option value="">choose a bag</option>
          {bags.map((one) => (
            <option key={one}>{one}</option>
          ))}
        </select>
        <select
          aria-label="Core"
          value={chosen.value}
          disabled={bag.value === ""}
          onChange={({currentTarget}) => {
            by.value = NOWHERE;
            chosen.value = currentTarget.value;
            look(strategy);
          }}
        >
          <option value="">choose a core</option>
          {cores
            .filter((one) => one.bag === bag.value)
            .map(({id}) => (
              <option key={id}>{id}</option>
            ))}
        </select>
      </div>
      {core && (
        <fieldset class="step-core" onKeyDown={onKey}>
          <legend>Core {core.id}</legend>
          <div class="row">
            {WAYS.map((way) => (
              <button type="button" key={way.key} onClick={() => go(way)} aria-label={`${sayStep(length)} ${way.name}`}>
                {way.sign}
              </button>
            ))}
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
          </div>
          <p class="small figures" role="status">
            {moved === "" ? "Arrow keys move it; with Shift five steps at once." : `${moved} of where it lies.`}
          </p>
          <div class="row">
            <button type="button" class="primary" disabled={moved === ""} onClick={() => void put()}>
              Put it there
            </button>
            <button type="button" class="plain" onClick={leave}>
              leave it
            </button>
          </div>
        </fieldset>
      )}
    </div>
  );
}

/** The plan in sight, so that the ring is seen among its cores. */
function look(strategy: Strategy): void {
  if (openMaps.peek().has(strategy)) show.value = "plan";
}
