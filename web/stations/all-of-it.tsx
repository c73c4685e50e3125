import {useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import type {ApiProblem} from "../api/types.ts";
import {Problem} from "../parts/problem.tsx";
import {page, saveJob} from "../state/field.ts";
import {jobShape, loadJobShape} from "./job-schema.ts";
import {SchemaForm, Suggestions} from "./schema-form.tsx";

/** Everything that can be set in some sections of the job, and at the end the job itself as it is written. */
export function AllOfIt({sections}: {readonly sections: readonly string[]}) {
  const open = useSignal(false);
  return (
    <details
      class="all-of-it"
      onToggle={({currentTarget}) => {
        open.value = currentTarget.open;
      }}
    >
      <summary>All there is to set</summary>
      {open.value && (
        <Suggestions.Provider value={{file: (page.value?.sources ?? []).map(({name}) => name)}}>
          {sections.map((section) => (
            <Section key={section} section={section} />
          ))}
          <JobAsText />
        </Suggestions.Provider>
      )}
    </details>
  );
}

/** A draft of one section: nothing counts until it is saved, so that what belongs together can be written together. */
function Section({section}: {readonly section: string}) {
  useEffect(loadJobShape, []);
  const shape = jobShape.value?.properties?.[section];
  const kept = page.value?.job[section];
  const draft = useSignal<{readonly value: unknown} | undefined>(undefined);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  if (!shape) return <p class="soft">Fetching what can be set…</p>;
  const value = draft.value ? draft.value.value : kept;
  const save = async () => {
    const next = draft.value?.value;
    wrong.value = await saveJob(({[section]: _, ...others}) =>
      next === undefined ? others : {...others, [section]: next},
    );
    if (!wrong.value) draft.value = undefined;
  };
  return (
    <details class="of-section">
      <summary>{WORDS[section] ?? section}</summary>
      <p class="small soft">{shape.description}</p>
      <SchemaForm
        shape={shape}
        value={value}
        label={WORDS[section] ?? section}
        put={(next) => {
          draft.value = {value: next};
        }}
      />
      {wrong.value && <Problem problem={wrong.value} />}
      {draft.value && (
        <div class="row save">
          <button type="button" class="primary" onClick={() => void save()}>
            Save {WORDS[section] ?? section}
          </button>
          <button
            type="button"
            class="plain"
            onClick={() => {
              draft.value = undefined;
              wrong.value = undefined;
            }}
          >
            leave it as it was
          </button>
        </div>
      )}
    </details>
  );
}

const WORDS: Readonly<Record<string, string>> = {
  handOver: "hand-over",
  asApplied: "what was spread",
  compare: "comparison",
};

/** The last resort: the job as it stands, to be changed as text. */
function JobAsText() {
  const text = useSignal<string | undefined>(undefined);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const kept = JSON.stringify(page.value?.job ?? {}, null, 2);
  const save = async () => {
    const job = parsed(text.value ?? kept);
    if ("message" in job) wrong.value = {code: "bench/not-json", message: String(job.message)};
    else wrong.value = await saveJob(job.job);
    if (!wrong.value) text.value = undefined;
  };
  return (
    <details class="of-section">
      <summary>the job as text</summary>
      <p class="small soft">As it is written to the book: JSON, every setting described in docs/job.md.</p>
      <textarea
        aria-label="The job as text"
        rows={18}
        spellcheck={false}
        value={text.value ?? kept}
        onInput={({currentTarget}) => {
          text.value = currentTarget.value;
        }}
      />
      {wrong.value && <Problem problem={wrong.value} />}
      <div class="row">
        <button type="button" class="primary" disabled={text.value === undefined} onClick={() => void save()}>
          Save the job
        </button>
        {text.value !== undefined && (
          <button
            type="button"
            class="plain"
            onClick={() => {
              text.value = undefined;
              wrong.value = undefined;
            }}
          >
            leave it as it was
          </button>
        )}
      </div>
    </details>
  );
}

/** The job, or what is wrong with the text and in which line. */
function parsed(text: string): {readonly job: Readonly<Record<string, unknown>>} | {readonly message: string} {
  try {
    const job = JSON.parse(text) as unknown;
    if (typeof job === "object" && job !== null && !Array.isArray(job))
      return {job: job as Readonly<Record<string, unknown>>};
    return {message: "A job is an object: it begins with { and ends with }."};
  } catch (error) {
    const said = (error as Error).message;
    const at = Number(/position (\d+)/.exec(said)?.[1] ?? Number.NaN);
    const line = Number.isNaN(at) ? "" : ` (line ${text.slice(0, at).split("\n").length})`;
    return {message: `The text is not JSON: ${said}${/line \d/.test(said) ? "" : line}.`};
  }
}
