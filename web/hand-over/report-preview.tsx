import {signal} from "@preact/signals";
import {useEffect, useRef} from "preact/hooks";
import {api} from "../api/client.ts";
import type {ResultCard} from "../api/types.ts";

const KINDS = [
  {kind: "field", name: "for the grower"},
  {kind: "record", name: "record for the agency"},
] as const;
const PAPERS = ["letter", "a4"] as const;
type Kind = (typeof KINDS)[number]["kind"];
type Paper = (typeof PAPERS)[number];

/** What the preview shows; closed while there is nothing. */
const shown = signal<{readonly kind: Kind; readonly paper: Paper} | undefined>(undefined);

/** The reports: to be looked at here, printed from here, or opened in a tab of their own. */
export function Reports({made}: {readonly made: ResultCard}) {
  return (
    <fieldset>
      <legend>Reports</legend>
      {KINDS.map(({kind, name}) => (
        <div class="row" key={kind}>
          <span class="name">{name}</span>
          <button
            type="button"
            onClick={() => {
              shown.value = {kind, paper: "letter"};
            }}
          >
            Preview<span class="unseen"> the report, {name}</span>
          </button>
          {PAPERS.map((paper) => (
            <a key={paper} href={linkTo(made, kind, paper)} target="_blank" rel="noreferrer">
              {paper === "a4" ? "A4" : paper}
              <span class="unseen"> paper, {name}, in a new tab</span>
            </a>
          ))}
        </div>
      ))}
      {shown.value && <Preview made={made} {...shown.value} />}
    </fieldset>
  );
}

function Preview({made, kind, paper}: {readonly made: ResultCard; readonly kind: Kind; readonly paper: Paper}) {
  const dialog = useRef<HTMLDialogElement>(null);
  const frame = useRef<HTMLIFrameElement>(null);
  useEffect(() => dialog.current?.showModal(), []);
  const close = () => {
    shown.value = undefined;
  };
  const link = linkTo(made, kind, paper);
  return (
    <dialog ref={dialog} class="preview no-print" aria-label="Report, as it prints" onClose={close}>
      <div class="row bar">
        <Choice
          name="What"
          value={kind}
          of={KINDS.map(({kind: value, name}) => ({value, name}))}
          put={(next) => {
            shown.value = {kind: next, paper};
          }}
        />
        <Choice
          name="Paper"
          value={paper}
          of={PAPERS.map((value) => ({value, name: value === "a4" ? "A4" : "letter"}))}
          put={(next) => {
            shown.value = {kind, paper: next};
          }}
        />
        <span class="spacer" />
        <button type="button" class="primary" onClick={() => frame.current?.contentWindow?.print()}>
          Print
        </button>
        <a class="button" href={link} target="_blank" rel="noreferrer">
          New tab
        </a>
        <button type="button" onClick={() => dialog.current?.close()}>
          Close
        </button>
      </div>
      <div class={`sheet ${paper}`}>
        <p class="soft making">The report is being made…</p>
        {/* Nothing in it runs: see REPORT_POLICY of the server. This page reaches in to print it, and for that alone. */}
        <iframe
          key={link}
          ref={frame}
          src={link}
          title={`Report ${KINDS.find((one) => one.kind === kind)?.name}, ${paper} paper`}
          sandbox="allow-same-origin allow-modals"
        />
      </div>
    </dialog>
  );
}

interface ChoiceProps<Value extends string> {
  readonly name: string;
  readonly value: Value;
  readonly of: readonly {readonly value: Value; readonly name: string}[];
  readonly put: (value: Value) => void;
}

function Choice<Value extends string>({name, value, of, put}: ChoiceProps<Value>) {
  return (
    <select aria-label={name} value={value} onChange={({currentTarget}) => put(currentTarget.value as Value)}>
      {of.map((one) => (
        <option key={one.value} value={one.value}>
          {one.name}
        </option>
      ))}
    </select>
  );
}

const linkTo = ({id}: ResultCard, kind: Kind, paper: Paper): string =>
  api.results[":id"].report.$path({param: {id}, query: {paper, kind}});
