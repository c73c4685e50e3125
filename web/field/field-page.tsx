import {useEffect} from "preact/hooks";
import type {FieldPage as FieldPageOf} from "../api/types.ts";
import {FilesPanel} from "../files/files-panel.tsx";
import {Remarks} from "../files/remarks.tsx";
import {TakeOffFaulty} from "../files/take-off.tsx";
import {waiting} from "../files/waiting.ts";
import {HandOver} from "../hand-over/hand-over.tsx";
import {GroundPanel} from "../hands/ground/ground-panel.tsx";
import {Itinerary} from "../itinerary/itinerary.tsx";
import {Ledger} from "../ledger/ledger.tsx";
import {atHand} from "../map/at-hand.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {canRun, notMoved, page, problem, redo, result, running, saveJob, task, undo} from "../state/field.ts";
import {cameFrom} from "../state/route.ts";
import {askForZone, chosenZone, enlarged, leaveSide, pointedAt, selection, side} from "../state/view.ts";
import {StationPanel} from "../stations/station-panel.tsx";
import {Working} from "../working/working.tsx";
import {FieldHead} from "./field-head.tsx";
import {OverMaps} from "./over-maps.tsx";
import {ThreeMaps} from "./three-maps.tsx";
import {TitleBlock} from "./title-block.tsx";
import {WithoutRates} from "./without-rates.tsx";

/** One field: itinerary, the three maps over the ledger, and what is being looked at or set on the right. */
export function FieldPage() {
  useEffect(() => {
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  }, []);
  const found = page.value;
  useEffect(() => {
    if (found && cameFrom) focusOn([".over-maps h1"]);
    // Files that came along from the book are to be confirmed.
    if (found && waiting.value.length > 0) side.value = "files";
  }, [found?.card.id]);
  return (
    <>
      <button type="button" class="skip" onClick={() => document.getElementById("maps")?.focus()}>
        Skip to the maps
      </button>
      <FieldHead />
      {!found && !problem.value && <p style="padding: 24px 20px">Opening the field…</p>}
      {!found && problem.value && (
        <div style="padding: 24px 20px">
          <Problem problem={problem.value} />
        </div>
      )}
      {found && (
        <div class="field">
          <Itinerary page={found} />
          <main class="middle" id="maps" tabIndex={-1}>
            {notMoved.value && <Problem problem={notMoved.value} />}
            {problem.value && <Problem problem={problem.value} />}
            {problem.value && <TakeOffFaulty problem={problem.value} />}
            <WithoutRates />
            <OverMaps />
            <ThreeMaps page={found} />
            {result.value && <Ledger result={result.value} />}
            {!result.value && !running.value && !begins() && <FirstWords page={found} />}
          </main>
          <aside class="side" id="side" aria-label="Settings and working" tabIndex={-1}>
            <Side />
            <TitleBlock />
          </aside>
        </div>
      )}
    </>
  );
}

/** Whether the field is about to be worked out for the first time. */
const begins = (): boolean => canRun.value && task.value === undefined && problem.value === undefined;

function Side() {
  switch (side.value) {
    case "working":
      return <Working />;
    case "ground":
      return <GroundPanel />;
    case "files":
      return <FilesPanel />;
    case "remarks":
      return <Remarks />;
    case "hand-over":
      return <HandOver />;
    default:
      return <StationPanel station={side.value} />;
  }
}

function FirstWords({page: found}: {readonly page: FieldPageOf}) {
  const {state, line} = found.card.stations.layers;
  return (
    <div class="empty">
      <h2>{found.sources.length <= 1 ? "Only the boundary is here" : "Nothing is worked out yet"}</h2>
      <p>
        Drop yield logs, a soil map, elevation or a lab report anywhere on this page. Each is recognised and shown to
        you before it counts. {state === "waiting" && line}
      </p>
      {!canRun.value && (
        <button type="button" onClick={() => void saveJob({...found.job, strategies: ["whole-field", "grid"]})}>
          Plan whole field and grid, without zones
        </button>
      )}
    </div>
  );
}

/** Undo and redo from anywhere but a text being written; Escape gives up what was being done, and leads back. */
function onKey(event: KeyboardEvent): void {
  const {target} = event;
  const writing = target instanceof HTMLInputElement && target.type === "text";
  if (event.key === "Escape" && !atHand.value && !event.defaultPrevented) {
    if ((target as Element).closest("#side")) leaveSide();
    enlarged.value = undefined;
    selection.value = undefined;
    chosenZone.value = undefined;
    askForZone.value = undefined;
    pointedAt.value = undefined;
    if (side.value === "working") side.value = "rates";
  }
  if (!(event.ctrlKey || event.metaKey) || writing) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !event.shiftKey) {
    event.preventDefault();
    if (page.value?.canUndo) void undo();
  } else if (key === "y" || (key === "z" && event.shiftKey)) {
    event.preventDefault();
    if (page.value?.canRedo) void redo();
  }
}
