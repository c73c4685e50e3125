import {signal, useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import {IssueList} from "../files/issue-list.tsx";
import {dismiss, waiting} from "../files/waiting.ts";
import {Problem} from "../parts/problem.tsx";
import {fields} from "../state/book.ts";
import type {DrawBoundary} from "./draw-boundary.tsx";
import {NameField} from "./name-field.tsx";

/** Whether a boundary is being drawn. */
export const drawing = signal(false);

/** A new field, from a boundary that is drawn or was dropped. */
export function NewField() {
  return (
    <>
      {drawing.value && (
        <section class="new-field" aria-label="Draw a boundary">
          <Drawing
            made={() => {
              drawing.value = false;
            }}
            leave={() => {
              drawing.value = false;
            }}
          />
        </section>
      )}
      {waiting.value.map((file) => (
        <section class="new-field" key={file.name} aria-label={`New field from ${file.name}`}>
          <h2>New field from {file.name}</h2>
          {!file.card && !file.problem && <p class="soft">Reading…</p>}
          {file.problem && <Problem problem={file.problem} />}
          {file.card && (
            <>
              <ul class="list small soft">
                {file.card.lines.slice(0, 4).map((line) => (
                  <li key={line}>{line}</li>
                ))}
              </ul>
              <IssueList issues={file.card.issues} />
              {!file.card.looksLike.includes("boundary") && (
                <p class="note">
                  This does not look like a boundary. Begin with the file that holds the field's outline; the others go
                  to the field's own page.
                </p>
              )}
              <NameField
                name={file.name.replace(/\.[^.]+$/, "").replace(/[-_]/g, " ")}
                source={async () => file.card?.id ?? ""}
                first={file === waiting.value[0]}
                made={() => dismiss(file.name)}
              />
            </>
          )}
          <div>
            <button type="button" class="plain" onClick={() => dismiss(file.name)}>
              set aside
            </button>
          </div>
        </section>
      ))}
    </>
  );
}

/** The tools for drawing come when they are first needed. */
function Drawing(props: Parameters<typeof DrawBoundary>[0]) {
  const loaded = useSignal<typeof DrawBoundary | undefined>(undefined);
  useEffect(() => {
    void import("./draw-boundary.tsx").then((module) => {
      loaded.value = module.DrawBoundary;
    });
  }, []);
  const Draw = loaded.value;
  // Other fields are drawn beside, so the book is waited for.
  return Draw && fields.value ? <Draw {...props} /> : <p class="soft">Fetching the tools for drawing…</p>;
}
