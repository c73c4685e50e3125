import {useSignal} from "@preact/signals";
import type {ComponentType} from "preact";
import type {ApiProblem, GroundKind} from "../../api/types.ts";
import {Problem} from "../../parts/problem.tsx";
import {page, saveJob} from "../../state/field.ts";
import {write} from "../../stations/job-path.ts";
import {changeGround} from "./change-ground.ts";
import {draft, drawGround, keepDraft} from "./draft.ts";
import type {FormProps} from "./ground-form.tsx";
import {type Entry, entriesIn, factsOf, nameOf, pathOf, settingsOf} from "./grounds.ts";

interface Props {
  readonly kind: GroundKind;
  readonly title: string;
  readonly hint: string;
  readonly Form: ComponentType<FormProps>;
}

const MODES = [
  {mode: "polygon", name: "an area"},
  {mode: "line", name: "a line"},
  {mode: "point", name: "a place"},
] as const;

/** The keep-outs or setbacks of the field: what there is, and drawing more. */
export function GroundList({kind, title, hint, Form}: Props) {
  const open = useSignal<{readonly entry: number; readonly how: "change" | "draw"} | undefined>(undefined);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const job = page.value?.job;
  const entries = entriesIn(job, kind);
  const drawn = draft.value?.kind === kind ? draft.value : undefined;
  const put = (entry: number, next: Entry | undefined) =>
    job ? saveJob(write(job, next || entries.length > 1 ? pathOf(kind, entry) : pathOf(kind), next)) : undefined;
  const change = async (entry: number, settings: Entry) => {
    const {file, layer, crs, only} = entries[entry] ?? {};
    const kept = Object.entries({file, layer, crs, only}).filter(([, value]) => value !== undefined);
    const problem = await put(entry, {...Object.fromEntries(kept), ...settings});
    if (!problem) open.value = undefined;
    return problem;
  };
  return (
    <fieldset>
      <legend>{title}</legend>
      <p class="small soft">{hint}</p>
      <ul class="list">
        {entries.map((entry, i) => (
          <li key={`${i}/${entry.file}`} class="rows-of">
            <div>
              <b>{nameOf(entry)}</b> <span class="small soft">{factsOf(entry)}</span>
              <div class="row">
                <button type="button" class="plain" onClick={() => toggle(open, i, "change")}>
                  change<span class="unseen"> {nameOf(entry)}</span>
                </button>
                <button
                  type="button"
                  class="plain"
                  onClick={async () => {
                    wrong.value = await changeGround(kind, i);
                  }}
                >
                  corners<span class="unseen"> of {nameOf(entry)}</span>
                </button>
                <button type="button" class="plain" onClick={() => toggle(open, i, "draw")}>
                  redraw<span class="unseen"> {nameOf(entry)}</span>
                </button>
                <button
                  type="button"
                  class="plain"
                  onClick={async () => {
                    wrong.value = await put(i, undefined);
                  }}
                >
                  take out<span class="unseen"> {nameOf(entry)}</span>
                </button>
              </div>
            </div>
            {open.value?.entry === i && open.value.how === "draw" && <DrawButtons kind={kind} at={i} />}
            {open.value?.entry === i && open.value.how === "change" && (
              <Form
                settings={settingsOf(entry)}
                save={(settings) => change(i, settings)}
                leave={() => {
                  open.value = undefined;
                }}
              />
            )}
          </li>
        ))}
      </ul>
      {wrong.value && <Problem problem={wrong.value} />}
      {drawn && (
        <Form
          key={JSON.stringify(drawn.geometry)}
          settings={drawn.settings}
          save={async (settings) => {
            const problem = await keepDraft(drawn, settings);
            if (!problem) open.value = undefined;
            return problem;
          }}
          leave={() => {
            draft.value = undefined;
          }}
        />
      )}
      {!drawn && <DrawButtons kind={kind} />}
    </fieldset>
  );
}

function DrawButtons({kind, at}: {readonly kind: GroundKind; readonly at?: number}) {
  const what = at === undefined ? kind : `${kind} ${at + 1} again`;
  return (
    // biome-ignore lint/a11y/useSemanticElements: a fieldset of its own would part the list
    <div class="row" role="group" aria-label={`Draw a ${what}`}>
      <span class="small">Draw {at === undefined ? "" : "it as "}</span>
      {MODES.map(({mode, name}) => (
        <button
          type="button"
          key={mode}
          onClick={() => drawGround(kind, mode, at === undefined ? undefined : entriesIn(page.peek()?.job, kind)[at])}
        >
          {name}
          <span class="unseen"> as {what}</span>
        </button>
      ))}
    </div>
  );
}

function toggle(
  open: {value: {readonly entry: number; readonly how: "change" | "draw"} | undefined},
  entry: number,
  how: "change" | "draw",
): void {
  const same = open.value?.entry === entry && open.value.how === how;
  open.value = same ? undefined : {entry, how};
}
