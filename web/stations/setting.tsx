import {useEffect, useId} from "preact/hooks";
import {Written} from "../parts/written.tsx";
import {page} from "../state/field.ts";
import {quantityShown} from "../units/shown.ts";
import {AllOfIt} from "./all-of-it.tsx";
import {type Path, read} from "./job-path.ts";
import {type Along, forgetOlderRefusal, forgetRefusal, refusalOf, saveSetting} from "./refused.ts";
import {saySettingRefused} from "./say-refused.ts";

interface Common {
  readonly label: string;
  readonly path: Path;
  readonly hint?: string | undefined;
  /** What else the job needs once this is in it. */
  readonly along?: Along;
  /** Needs the whole width. */
  readonly tall?: boolean;
}

/** A quantity or word as it stands in the job: "2.5 ac". Empty takes it out, and the default holds. */
export interface TextSetting extends Common {
  readonly kind: "text" | "number";
  /** What holds when nothing is written. */
  readonly usual?: string | undefined;
}

export interface ChoiceSetting extends Common {
  readonly kind: "choice";
  /** Shown while the job says nothing. */
  readonly usual?: unknown;
  /** A value of `undefined` takes the setting out of the job. */
  readonly choices: readonly {readonly value: unknown; readonly name: string}[];
}

export interface CheckSetting extends Common {
  readonly kind: "check";
  readonly usual: boolean;
}

export type SettingOf = TextSetting | ChoiceSetting | CheckSetting;

/** One setting of the job: a change is written at once and worked out. What is refused stays in its box, and says so. */
export function Setting({setting}: {readonly setting: SettingOf}) {
  const id = useId();
  const {path, along} = setting;
  const value = read(page.value?.job, path);
  const stands = setting.kind === "text" || setting.kind === "number";
  const refusal = refusalOf(path);
  useEffect(() => () => forgetRefusal(path), [path.join("/")]);
  useEffect(() => forgetOlderRefusal(path, value), [JSON.stringify(value)]);
  // The box shows what another wrote by now.
  const isOvertaken = refusal?.stands && refusal.value !== undefined && refusal.problem.code === "job/changed";
  const put = async (next: unknown) => {
    if (!page.value || JSON.stringify(next) === JSON.stringify(value)) forgetRefusal(path);
    else await saveSetting(path, next, {along, stands});
  };
  const described = {"aria-describedby": `${id}-hint`, "aria-invalid": refusal !== undefined};
  return (
    <div class={setting.tall ? "setting tall" : "setting"}>
      <label for={id}>{setting.label}</label>
      {setting.kind === "choice" && (
        <select
          id={id}
          {...described}
          value={String(indexOf(setting, value))}
          onChange={({currentTarget}) => void put(setting.choices[Number(currentTarget.value)]?.value)}
        >
          {indexOf(setting, value) < 0 && <option value="-1">{said(value)}</option>}
          {setting.choices.map(({name}, i) => (
            <option key={name} value={String(i)}>
              {name}
            </option>
          ))}
        </select>
      )}
      {setting.kind === "check" && (
        <span>
          <input
            id={id}
            type="checkbox"
            {...described}
            checked={value === undefined ? setting.usual : value === true}
            onChange={({currentTarget}) =>
              void put(currentTarget.checked === setting.usual ? undefined : currentTarget.checked)
            }
          />
        </span>
      )}
      {(setting.kind === "text" || setting.kind === "number") && (
        <Written
          id={id}
          {...described}
          value={value === undefined ? "" : String(value)}
          placeholder={setting.usual && quantityShown(setting.usual)}
          inputMode={setting.kind === "number" ? "decimal" : undefined}
          put={(text) => void put(parsed(setting.kind, text))}
        />
      )}
      {refusal && (
        <p class="wrong" role="alert">
          <b>Not in the job{isOvertaken && `: ${said(refusal.value)}`}.</b>{" "}
          {saySettingRefused(refusal.problem, path, setting.label)}
        </p>
      )}
      <p class="hint" id={`${id}-hint`}>
        {setting.hint}
      </p>
    </div>
  );
}

export function Settings({of}: {readonly of: readonly SettingOf[]}) {
  return (
    <div class="settings">
      {of.map((setting) => (
        <Setting key={setting.path.join("/")} setting={setting} />
      ))}
    </div>
  );
}

/** Settings that few need, out of the way, and behind them everything that can be set in these sections of the job. */
export function More({of, sections}: {readonly of: readonly SettingOf[]; readonly sections: readonly string[]}) {
  return (
    <details>
      <summary>More</summary>
      <div class="rows-of">
        <Settings of={of} />
        <AllOfIt sections={sections} />
      </div>
    </details>
  );
}

/** Below zero for a value that the page does not offer; it is shown as it stands. */
function indexOf({choices, usual}: ChoiceSetting, value: unknown): number {
  return choices.findIndex((choice) => JSON.stringify(choice.value) === JSON.stringify(value ?? usual));
}

const said = (value: unknown): string => (typeof value === "object" ? "as in the job" : String(value));

/** Numbers are written as numbers, so that the job says `15` and not `"15"`; what is no number is left for the server to refuse. */
function parsed(kind: "text" | "number", text: string): unknown {
  const words = text.trim();
  if (words === "") return undefined;
  if (kind === "text") return words;
  const number = Number(words);
  return Number.isFinite(number) ? number : words;
}
