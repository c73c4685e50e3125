import type {FieldPage, Station} from "../api/types.ts";
import {asksForSomething} from "../files/asks.ts";
import {sayGround} from "../hands/ground/grounds.ts";
import {many} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {openStation, side} from "../state/view.ts";
import {sayStation} from "./say-station.ts";

const STOPS: readonly {readonly station: Station; readonly name: string}[] = [
  {station: "layers", name: "Layers"},
  {station: "zones", name: "Zones"},
  {station: "plan", name: "Plan"},
  {station: "lab", name: "Lab"},
  {station: "rates", name: "Rates"},
  {station: "compare", name: "Ledger"},
  {station: "hand-over", name: "Hand-over"},
];

const SPOKEN = {done: "done", ready: "ready", waiting: "waiting", stale: "made before the last change"} as const;

/** One stop for each station with a line that says where it stands. */
export function Itinerary({page}: {readonly page: FieldPage}) {
  const issues = (result.value?.issues ?? []).filter(asksForSomething);
  return (
    <nav class="itinerary no-print" aria-label="Itinerary">
      <ol>
        {STOPS.map(({station, name}) => {
          const {state} = page.card.stations[station];
          return (
            <li key={station}>
              <button
                type="button"
                class={state}
                aria-current={side.value === station ? "step" : undefined}
                onClick={() => openStation(station)}
              >
                <i aria-hidden="true" />
                <b>
                  {name}
                  <span class="unseen"> ({SPOKEN[state]})</span>
                </b>
                <span>{unbroken(sayStation(page, station))}</span>
              </button>
            </li>
          );
        })}
      </ol>
      <div class="other">
        <button
          type="button"
          aria-current={side.value === "ground" ? "step" : undefined}
          onClick={() => openStation("ground")}
        >
          <b>Ground</b>
          <span>{sayGround(page)}</span>
        </button>
        <button
          type="button"
          aria-current={side.value === "files" ? "step" : undefined}
          onClick={() => openStation("files")}
        >
          <b>Files</b>
          <span>{many(page.sources.length, "file")}; drop more anywhere</span>
        </button>
        <button
          type="button"
          aria-current={side.value === "remarks" ? "step" : undefined}
          onClick={() => openStation("remarks")}
        >
          <b>Remarks</b>
          <span>
            {result.value ? `${issues.length === 0 ? "none to act on" : `${issues.length} to act on`}` : "none yet"}
          </span>
        </button>
      </div>
    </nav>
  );
}

/** A product's figures, "0-0-60", stay on one line. */
const unbroken = (line: string): string => line.replace(/(?<=\d)-(?=\d)/g, "\u2011");
