import {useSignal} from "@preact/signals";
import type {ApiProblem, AttachAs, SourceCard} from "../api/types.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {besideIt} from "../units/shown.ts";
import {answerAlike, answerAs, othersAlike} from "./alike.ts";
import {attach} from "./attach.ts";
import {ALL, NAMES} from "./attach-as.ts";
import {type Draft, FileForm, openIn, settingsOf} from "./file-form.tsx";
import {IssueList} from "./issue-list.tsx";
import {dismiss} from "./waiting.ts";

/** What a file holds and how it would be read, to be confirmed before it counts. */
export function SourcePreview({card, draft}: {readonly card: SourceCard; readonly draft: Draft}) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const busy = useSignal(false);
  const save = async () => {
    if (!draft.as.value) return;
    busy.value = true;
    wrong.value = await attach(card, draft.as.value, settingsOf(card, draft));
    busy.value = false;
    if (wrong.value) return;
    dismiss(card.name);
    answerAlike();
    focusOn(["#side .card h3", "#side h2"]);
  };
  const open = openIn(card, draft);
  const alike = othersAlike({name: card.name, card, draft});
  const others = ALL.filter((one) => !card.looksLike.includes(one));
  return (
    <>
      <ul class="list small soft">
        {card.lines.slice(0, card.kind === "csv" ? 1 : 4).map((line) => (
          <li key={line}>{besideIt(line)}</li>
        ))}
      </ul>
      <IssueList issues={card.issues} />
      {card.looksLike.length === 0 && (
        <p class="note strong">
          By what it holds it is nothing that a field uses. Put it away, or say what it is and how it is read.
        </p>
      )}
      <label class="setting">
        This is
        <select
          value={draft.as.value ?? ""}
          onChange={({currentTarget}) => {
            draft.as.value = currentTarget.value as AttachAs;
            draft.like.value = "";
            draft.answers.value = [];
            draft.settings.value = card.proposed[draft.as.value] ?? {};
          }}
        >
          <option value="" disabled>
            choose
          </option>
          {[...card.looksLike, ...others].map((one) => (
            <option key={one} value={one}>
              {NAMES[one]}
            </option>
          ))}
        </select>
      </label>
      <FileForm key={draft.as.value} card={card} draft={draft} open={draft.as.value !== card.looksLike[0]} />
      {alike.length > 0 && (
        <div>
          <button
            type="button"
            class="plain"
            onClick={() => {
              for (const other of alike) answerAs(other, card.name, settingsOf(card, draft));
            }}
          >
            {alike.length === 1
              ? `Answer ${alike[0]?.name} the same`
              : `Answer the ${alike.length} others with the same headings the same`}
          </button>
        </div>
      )}
      {wrong.value && <Problem problem={wrong.value} />}
      {open !== "" && <p class="small soft">{open}</p>}
      <div>
        <button type="button" class="primary" disabled={busy.value || open !== ""} onClick={() => void save()}>
          {busy.value ? "Attaching…" : "Attach to this field"}
        </button>
      </div>
    </>
  );
}
