import {useSignal} from "@preact/signals";
import type {ApiProblem, SourceCard} from "../api/types.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {page} from "../state/field.ts";
import {detach} from "./attach.ts";
import {usesOf} from "./uses.ts";

/** Takes a file out of the job. */
export function TakeOff({source, named = false}: {readonly source: SourceCard; readonly named?: boolean}) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const take = async () => {
    wrong.value = await detach(source);
    if (!wrong.value) focusOn(["#side h2"]);
  };
  return (
    <div>
      <button type="button" onClick={() => void take()}>
        {named ? `Take ${source.name} off this field` : "Take it off this field"}
      </button>{" "}
      <span class="small soft">It stays in the book; undo brings it back.</span>
      {wrong.value && <Problem problem={wrong.value} />}
    </div>
  );
}

/** Beside what went wrong: the way to do without the file that it is about, where the field can. */
export function TakeOffFaulty({problem}: {readonly problem: ApiProblem}) {
  const {sources = [], job = {}} = page.value ?? {};
  const about = [problem.place, ...(problem.issues ?? []).map(({place}) => place)].map((place) => place?.file);
  const faulty = sources.filter(({name}) => {
    const uses = about.includes(name) ? usesOf(job, name) : [];
    return uses.length > 0 && uses.every(({as}) => as !== undefined && as !== "boundary");
  });
  return (
    <div class="rows-of no-print">
      {faulty.map((source) => (
        <TakeOff key={source.id} source={source} named />
      ))}
    </div>
  );
}
