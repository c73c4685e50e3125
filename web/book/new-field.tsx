import {signal, useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import {NAMES} from "../files/attach-as.ts";
import {IssueList} from "../files/issue-list.tsx";
import {dismiss, type WaitingFile, waiting} from "../files/waiting.ts";
import {Problem} from "../parts/problem.tsx";
import {fields} from "../state/book.ts";
import type {DrawBoundary} from "./draw-boundary.tsx";
import {NameField} from "./name-field.tsx";

/** Whether a boundary is being drawn. */
export const drawing = signal(false);

/** A new field, from a boundary that is drawn or was dropped; other files wait for it. */
export function NewField() {
  const beginners = waiting.value.filter(begins);
  const others = waiting.value.filter((file) => !begins(file));
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
      {beginners.map((file) => (
        <section class="new-field" key={file.name} aria-label={`New field from ${file.name}`}>
          <h2>{file.card ? `New field from ${file.name}` : file.name}</h2>
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
              <NameField
                name={file.card.named?.field ?? nameOf(file.name)}
                farm={file.card.named?.farm}
                source={async () => file.card?.id ?? ""}
                first={file === beginners[0]}
                made={() => dismiss(file.name)}
              />
            </>
          )}
          <div>
            <Aside name={file.name} />
          </div>
        </section>
      ))}
      {others.length > 0 && <Others files={others} beginners={beginners.length} />}
    </>
  );
}

/** Files without an outline begin no field; they go along to the one that is made. */
function Others({files, beginners}: {readonly files: readonly WaitingFile[]; readonly beginners: number}) {
  const one = files.length === 1;
  return (
    <section class="new-field" aria-label="Files that wait for their field">
      <h2>{one ? "1 file waits for its field" : `${files.length} files wait for their field`}</h2>
      <p>
        {one
          ? "It is no boundary, so it begins no field. It goes"
          : "They are no boundaries, so they begin no fields. They go"}{" "}
        along to the field you {beginners > 0 ? "make here or open" : "make of a boundary or open"}, and{" "}
        {one ? "stands" : "stand"} among its files there to be confirmed.
      </p>
      <ul class="list">
        {files.map(({name, card}) => (
          <li key={name}>
            {name} <span class="small soft">{card?.looksLike[0] ? NAMES[card.looksLike[0]] : "not recognised"}</span>{" "}
            {card?.kind === "shapes" && (
              <button
                type="button"
                class="plain"
                onClick={() => {
                  taken.value = [...taken.value, name];
                }}
              >
                it is a boundary
              </button>
            )}{" "}
            <Aside name={name} />
          </li>
        ))}
      </ul>
    </section>
  );
}

function Aside({name}: {readonly name: string}) {
  return (
    <button type="button" class="plain" aria-label={`set aside ${name}`} onClick={() => dismiss(name)}>
      set aside
    </button>
  );
}

/** Files whose shapes a person says are a boundary, though they do not look like one. */
const taken = signal<readonly string[]>([]);

/** Whether a field can be made of it, or nothing else can be done with it here. */
const begins = ({name, card}: WaitingFile): boolean =>
  !card || card.looksLike.includes("boundary") || card.kind === "geopackage" || taken.value.includes(name);

const nameOf = (file: string): string => file.replace(/\.[^.]+$/, "").replace(/[-_]/g, " ");

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
