import {signal, useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import {problemOf} from "../api/client.ts";
import type {ApiProblem} from "../api/types.ts";
import {IssueList} from "../files/issue-list.tsx";
import {dismiss, receive, waiting} from "../files/waiting.ts";
import {Problem} from "../parts/problem.tsx";
import {fields, makeField} from "../state/book.ts";
import {fieldLink, go} from "../state/route.ts";
import type {DrawBoundary} from "./draw-boundary.tsx";

/** Whether a boundary is being drawn. */
export const drawing = signal(false);

/** A new field, from a boundary that was dropped or drawn. */
export function NewField() {
  return (
    <>
      {drawing.value && (
        <section class="new-field" aria-label="Draw a boundary">
          <Drawing
            done={(file) => {
              drawing.value = false;
              void receive([file]);
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
              <NameIt source={file.card.id} file={file.name} />
            </>
          )}
          <div>
            <button type="button" class="plain" onClick={() => dismiss(file.name)}>
              put away
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
  return Draw ? <Draw {...props} /> : <p class="soft">Fetching the tools for drawing…</p>;
}

function NameIt({source, file}: {readonly source: string; readonly file: string}) {
  const name = useSignal(file.replace(/\.[^.]+$/, "").replace(/[-_]/g, " "));
  const farm = useSignal(fields.value?.[0]?.farm ?? "");
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const make = async (event: Event) => {
    event.preventDefault();
    try {
      const page = await makeField({
        name: name.value.trim(),
        boundary: source,
        ...(farm.value.trim() !== "" && {farm: farm.value.trim()}),
      });
      dismiss(file);
      go(fieldLink(page.card.id));
    } catch (error) {
      wrong.value = problemOf(error);
    }
  };
  return (
    <form class="pair" onSubmit={(event) => void make(event)}>
      <label>
        Name of the field
        <input
          type="text"
          required
          value={name.value}
          onInput={({currentTarget}) => {
            name.value = currentTarget.value;
          }}
        />
      </label>
      <label>
        Farm
        <input
          type="text"
          value={farm.value}
          onInput={({currentTarget}) => {
            farm.value = currentTarget.value;
          }}
        />
      </label>
      <span style="align-self:end">
        <button type="submit" class="primary">
          Make the field
        </button>
      </span>
      {wrong.value && <Problem problem={wrong.value} />}
    </form>
  );
}
