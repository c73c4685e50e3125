import {useSignal} from "@preact/signals";
import {useMemo} from "preact/hooks";
import type {ApiProblem, AttachAs, FieldPage, SourceCard} from "../api/types.ts";
import {Problem} from "../parts/problem.tsx";
import {result} from "../state/field.ts";
import {besideIt} from "../units/shown.ts";
import {attach} from "./attach.ts";
import {beginDraft, FileForm, openIn, settingsOf} from "./file-form.tsx";
import {size} from "./files-panel.tsx";
import {IssueList} from "./issue-list.tsx";
import {SourcePreview} from "./source-preview.tsx";
import {TakeOff} from "./take-off.tsx";
import {sayUse, type Use, usesOf} from "./uses.ts";

/** One file of the field: what it is used as, what was met in reading it, how it is read, and the way to take it off. */
export function FieldFile({source, job}: {readonly source: SourceCard; readonly job: FieldPage["job"]}) {
  const uses = usesOf(job, source.name);
  const remarks = (result.value?.issues ?? []).filter(({place}) => place?.file === source.name);
  const issues = [
    ...source.issues,
    ...remarks.filter((one) => !source.issues.some(({message}) => message === one.message)),
  ];
  const act = issues.filter(({severity}) => severity !== "note").length;
  return (
    <details class="file">
      <summary>
        {source.name} <span class="small soft">{size(source.bytes)}</span>
        <span class="small use">{uses.length > 0 ? uses.map(sayUse).join("; ") : "not used"}</span>
        {act > 0 && <span class="small marked">{act === 1 ? "1 remark" : `${act} remarks`}</span>}
      </summary>
      <div class="rows-of inside">
        <ul class="list small soft">
          {source.lines.slice(0, source.kind === "csv" ? 1 : 4).map((line) => (
            <li key={line}>{besideIt(line)}</li>
          ))}
        </ul>
        <Remarks issues={issues} />
        {uses.map((use) => use.as && <HowRead key={`${use.as}/${use.at}`} source={source} use={use} as={use.as} />)}
        {uses.length === 0 && <UseAgain source={source} />}
        {uses.length > 0 && !uses.some(({as}) => as === "boundary") && <TakeOff source={source} />}
      </div>
    </details>
  );
}

/** What to act on, then what is good to know. */
function Remarks({issues}: {readonly issues: SourceCard["issues"]}) {
  const notes = issues.filter(({severity}) => severity === "note");
  return (
    <>
      <IssueList issues={issues.filter(({severity}) => severity !== "note")} />
      {notes.length > 0 && (
        <details>
          <summary>{notes.length === 1 ? "1 note on its reading" : `${notes.length} notes on its reading`}</summary>
          <IssueList issues={notes} />
        </details>
      )}
    </>
  );
}

/** How an attached file is read, to be put right later. */
function HowRead({source, use, as}: {readonly source: SourceCard; readonly use: Use; readonly as: AttachAs}) {
  const kept = JSON.stringify(use.settings);
  const draft = useMemo(() => beginDraft(as, use.settings), [kept, as]);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  // What was answered when it was attached stands in its settings.
  const card = {...source, questions: []};
  const changed = JSON.stringify(draft.settings.value) !== kept;
  const open = openIn(card, draft);
  const several = as === "keep-out" || as === "setback";
  const save = async () => {
    wrong.value = await attach(source, as, settingsOf(card, draft), several ? use.at : undefined);
  };
  return (
    <>
      <FileForm card={card} draft={draft} open={false} />
      {wrong.value && <Problem problem={wrong.value} />}
      {changed && open !== "" && <p class="small soft">{open}</p>}
      {changed && (
        <div class="row">
          <button type="button" class="primary" disabled={open !== ""} onClick={() => void save()}>
            Read it so
          </button>
          <button
            type="button"
            class="plain"
            onClick={() => {
              draft.settings.value = use.settings;
              wrong.value = undefined;
            }}
          >
            leave it as it was
          </button>
        </div>
      )}
    </>
  );
}

/** A file that was taken off is still in the book. */
function UseAgain({source}: {readonly source: SourceCard}) {
  const draft = useMemo(() => {
    const as = source.looksLike[0];
    return beginDraft(as, (as && source.proposed[as]) ?? {});
  }, [source.id]);
  return <SourcePreview card={source} draft={draft} />;
}
