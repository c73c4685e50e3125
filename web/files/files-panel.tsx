import {useSignal} from "@preact/signals";
import {formatNumber} from "../../src/units/format.ts";
import {many} from "../map/scenes.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {page} from "../state/field.ts";
import {attach} from "./attach.ts";
import {FieldFile} from "./field-file.tsx";
import {settingsOf} from "./file-form.tsx";
import {PickFiles} from "./pick-files.tsx";
import {SourcePreview} from "./source-preview.tsx";
import {usesOf} from "./uses.ts";
import {dismiss, inNeedOfNothing, isRead, waiting} from "./waiting.ts";

/** Files that wait to be told what they are for, and those the field has. */
export function FilesPanel() {
  const {sources = [], job = {}} = page.value ?? {};
  const used = sources.filter(({name}) => usesOf(job, name).length > 0);
  const others = sources.filter((source) => !used.includes(source));
  return (
    <section class="rows-of" style="gap:14px" aria-label="Files">
      <div class="row">
        <h2>Files</h2>
        <span class="spacer" />
        <PickFiles label="Choose files" />
      </div>
      <p class="small soft">
        Yield logs, soil map, elevation, lab reports, rasters, points, setbacks: drop them anywhere on the page.
      </p>
      <AttachAll />
      <div aria-live="polite" class="rows-of">
        {waiting.value.map((file) => (
          <div class="card" key={file.name}>
            <div class="row">
              <h3>{file.name}</h3>
              <span class="spacer" />
              <button
                type="button"
                class="plain"
                aria-label={`Put ${file.name} away`}
                onClick={() => {
                  dismiss(file.name);
                  focusOn(["#side .card h3", "#side h2"]);
                }}
              >
                ×
              </button>
            </div>
            {file.problem && <Problem problem={file.problem} />}
            {!file.problem && !file.card && <p class="soft">Reading…</p>}
            {isRead(file) && <SourcePreview key={file.card.id} card={file.card} draft={file.draft} />}
          </div>
        ))}
      </div>
      <ul class="list files">
        {used.map((source) => (
          <li key={source.name}>
            <FieldFile source={source} job={job} />
          </li>
        ))}
      </ul>
      {others.length > 0 && (
        <details>
          <summary>{many(others.length, "file")} in the book that this field does not use</summary>
          <ul class="list files">
            {others.map((source) => (
              <li key={source.name}>
                <FieldFile source={source} job={job} />
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

/** Of several files those that leave nothing open are attached at once, one after another. */
function AttachAll() {
  const busy = useSignal(false);
  const ready = inNeedOfNothing();
  if (waiting.value.length < 2 || (ready.length === 0 && !busy.value)) return null;
  const all = async () => {
    busy.value = true;
    for (const {name, card, draft} of inNeedOfNothing()) {
      const as = draft.as.value;
      if (as === undefined) continue;
      const problem = await attach(card, as, settingsOf(card, draft));
      if (problem) waiting.value = waiting.value.map((file) => (file.name === name ? {...file, problem} : file));
      else dismiss(name);
    }
    busy.value = false;
    focusOn(["#side .card h3", "#side h2"]);
  };
  return (
    <div>
      <button type="button" class="primary" disabled={busy.value} onClick={() => void all()}>
        {busy.value ? "Attaching…" : `Attach all that need no answer (${ready.length})`}
      </button>
    </div>
  );
}

export const size = (bytes: number): string =>
  bytes < 1e6 ? `${formatNumber(Math.max(1, bytes / 1e3))} kB` : `${formatNumber(bytes / 1e6, 1)} MB`;
