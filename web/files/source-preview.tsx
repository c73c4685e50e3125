import {useSignal} from "@preact/signals";
import {api, got} from "../api/client.ts";
import type {ApiProblem, AttachAs, AttachRequest, SourceCard} from "../api/types.ts";
import {focusOn} from "../parts/focus.ts";
import {Problem} from "../parts/problem.tsx";
import {Scroll} from "../parts/scroll.tsx";
import {change} from "../state/field.ts";
import {answered, type Settings} from "./answers.ts";
import {IssueList} from "./issue-list.tsx";
import {Questions} from "./questions.tsx";
import {SettingsForm} from "./settings-form.tsx";
import {dismiss} from "./waiting.ts";

const ALL: readonly AttachAs[] = [
  "yield",
  "soil map",
  "elevation",
  "lab",
  "raster",
  "points",
  "zones",
  "keep-out",
  "setback",
  "boundary",
];
const NAMES: Partial<Record<AttachAs, string>> = {
  yield: "a yield log",
  "soil map": "the soil map",
  elevation: "elevation",
  lab: "a lab report",
  raster: "a raster layer",
  points: "measured points",
  zones: "zones drawn elsewhere",
  "keep-out": "ground to keep cores out of",
  setback: "a setback",
  boundary: "the boundary",
};

/** What a file holds and how it would be read, to be confirmed before it counts. */
export function SourcePreview({card}: {readonly card: SourceCard}) {
  const as = useSignal<AttachAs | undefined>(card.looksLike[0]);
  const settings = useSignal<Settings>(proposedFor(card, card.looksLike[0]));
  const answers = useSignal<readonly string[]>([]);
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const busy = useSignal(false);
  const attach = async () => {
    if (!as.value) return;
    busy.value = true;
    const wanted: AttachRequest = {
      source: card.id,
      as: as.value,
      settings: answered(
        settings.value,
        as.value,
        as.value === card.looksLike[0] ? (card.questions ?? []) : [],
        answers.value,
      ),
    };
    wrong.value = await change((id) => got(api.fields[":id"].attach.$post({param: {id}, json: wanted})));
    busy.value = false;
    if (wrong.value) return;
    dismiss(card.name);
    focusOn(["#side .card h3", "#side h2"]);
  };
  // Questions are about what the file looks like; taken for something else, it may leave other things open.
  const open = as.value === card.looksLike[0] ? (card.questions ?? []).filter((_, i) => !answers.value[i]).length : 0;
  const others = ALL.filter((one) => !card.looksLike.includes(one));
  return (
    <>
      <ul class="list small soft">
        {card.lines.slice(0, 4).map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
      <IssueList issues={card.issues} />
      {card.columns && card.columns.length > 0 && (
        <Scroll label="Columns">
          <table>
            <thead>
              <tr>
                <th scope="col">column</th>
                <th scope="col">cells</th>
                <th scope="col">read as</th>
              </tr>
            </thead>
            <tbody>
              {card.columns.map(({heading, sample, readAs, unit}) => (
                <tr key={heading}>
                  <td>{heading}</td>
                  <td class="soft">{sample.slice(0, 2).join(", ")}</td>
                  <td>
                    {readAs || "—"}
                    {unit && `, ${unit}`}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      )}
      <label class="setting">
        This is
        <select
          value={as.value ?? ""}
          onChange={({currentTarget}) => {
            as.value = currentTarget.value as AttachAs;
            settings.value = proposedFor(card, as.value);
          }}
        >
          <option value="" disabled>
            choose
          </option>
          {[...card.looksLike, ...others].map((one) => (
            <option key={one} value={one}>
              {NAMES[one] ?? one}
            </option>
          ))}
        </select>
      </label>
      <Questions
        name={card.id}
        questions={as.value === card.looksLike[0] ? (card.questions ?? []) : []}
        answers={answers}
      />
      {as.value && (
        <details open={(card.questions ?? []).length === 0 && Object.keys(settings.value).length < 6}>
          <summary>How it is read</summary>
          <SettingsForm
            settings={settings}
            name={card.id}
            headings={(card.columns ?? []).map(({heading}) => heading)}
          />
        </details>
      )}
      {wrong.value && <Problem problem={wrong.value} />}
      {open > 0 && <p class="small soft">Answer what the file leaves open, then attach it.</p>}
      <div>
        <button
          type="button"
          class="primary"
          disabled={!as.value || busy.value || open > 0}
          onClick={() => void attach()}
        >
          {busy.value ? "Attaching…" : "Attach to this field"}
        </button>
      </div>
    </>
  );
}

function proposedFor(card: SourceCard, as: AttachAs | undefined): Settings {
  return (as && card.proposed[as]) ?? {};
}
