import {signal} from "@preact/signals";
import {SettingsButton} from "../preferences/settings-dialog.tsx";
import {cancel, canRun, fresh, page, redo, result, run, running, task, undo} from "../state/field.ts";
import {say} from "../units/shown.ts";

/** Where one is, what is being worked out, and the way back. */
export function FieldHead() {
  const found = page.value;
  return (
    <header class="head">
      <a class="mark" href="#/">
        Loamwright
      </a>
      <span class="path">
        {found && (
          <>
            {found.card.farm || "No farm named"} <span aria-hidden="true">/</span> <b>{found.card.name}</b>{" "}
            <span aria-hidden="true">/</span> {say(found.card.acres, "ac")}
          </>
        )}
      </span>
      <span class="spacer" />
      <Progress />
      {canRun.value && !running.value && !fresh.value && (
        <button type="button" class="primary" onClick={() => void run()}>
          Work it out
        </button>
      )}
      <span class="row no-print">
        <button
          type="button"
          disabled={!found?.canUndo}
          onClick={() => void undo()}
          title="Ctrl Z"
          aria-keyshortcuts="Control+Z"
        >
          Undo
        </button>
        <button
          type="button"
          disabled={!found?.canRedo}
          onClick={() => void redo()}
          title="Ctrl Y"
          aria-keyshortcuts="Control+Y"
        >
          Redo
        </button>
        <SettingsButton />
      </span>
    </header>
  );
}

/** The task that the user ended; others end when something newer takes their place. */
const stopped = signal<string | undefined>(undefined);

function Progress() {
  const now = task.value;
  const words = running.value
    ? now?.step || "beginning"
    : now?.state === "cancelled" && now.id === stopped.value
      ? `stopped${result.value ? "; the maps show the last result" : ""}`
      : result.value && !fresh.value
        ? "the maps show the job as it was before"
        : "";
  return (
    <span class="progress" role="status" aria-live="polite">
      {running.value && (
        <span class="bar" aria-hidden="true">
          <i />
        </span>
      )}
      {words}
      {running.value && (
        <button
          type="button"
          onClick={() => {
            stopped.value = now?.id;
            void cancel();
          }}
        >
          Stop
        </button>
      )}
    </span>
  );
}
