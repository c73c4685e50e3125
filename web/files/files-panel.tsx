import {formatNumber} from "../../src/units/format.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {page} from "../state/field.ts";
import {IssueList} from "./issue-list.tsx";
import {PickFiles} from "./pick-files.tsx";
import {SourcePreview} from "./source-preview.tsx";
import {dismiss, waiting} from "./waiting.ts";

/** Files that wait to be told what they are for, and those the field has. */
export function FilesPanel() {
  const sources = page.value?.sources ?? [];
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
            {file.card && <SourcePreview key={file.card.id} card={file.card} />}
          </div>
        ))}
      </div>
      <ul class="list">
        {sources.map((source) => (
          <li key={source.id}>
            <details>
              <summary>
                {source.name} <span class="small soft">{size(source.bytes)}</span>
              </summary>
              <ul class="list small soft">
                {source.lines.map((line) => (
                  <li key={line}>{line}</li>
                ))}
              </ul>
              <IssueList issues={source.issues} />
            </details>
          </li>
        ))}
      </ul>
    </section>
  );
}

export const size = (bytes: number): string =>
  bytes < 1e6 ? `${formatNumber(Math.max(1, bytes / 1e3))} kB` : `${formatNumber(bytes / 1e6, 1)} MB`;
