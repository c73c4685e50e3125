import {useSignal} from "@preact/signals";
import type {ComponentChildren} from "preact";
import {useEffect, useId, useRef} from "preact/hooks";
import type {ApiProblem} from "../../api/types.ts";
import {Problem} from "../../parts/problem.tsx";
import type {Entry} from "./grounds.ts";

export interface FormProps {
  readonly settings: Entry;
  /** Resolves to what was wrong, if anything. */
  readonly save: (settings: Entry) => Promise<ApiProblem | undefined>;
  readonly leave: () => void;
}

interface Props extends FormProps {
  readonly label: string;
  /** From what was filled in to what the job holds; settings that the form does not ask for are kept. */
  readonly entryOf: (filled: FormData) => Entry;
  readonly children: ComponentChildren;
}

/** What is asked of drawn ground. A refusal is told here, and nothing that was filled in or drawn is lost. */
export function GroundForm({label, settings, entryOf, save, leave, children}: Props) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const busy = useSignal(false);
  const form = useRef<HTMLFormElement>(null);
  // In sight and in reach of the keys, wherever the map stood that was drawn on.
  useEffect(() => {
    form.current?.querySelector<HTMLElement>("select, input")?.focus();
    form.current?.scrollIntoView({block: "nearest"});
  }, []);
  const submit = async (event: SubmitEvent) => {
    event.preventDefault();
    const filled = new FormData(event.currentTarget as HTMLFormElement);
    busy.value = true;
    const asked = Object.entries({...settings, ...entryOf(filled)}).filter(([, value]) => value !== undefined);
    wrong.value = await save(Object.fromEntries(asked));
    busy.value = false;
  };
  return (
    <form class="card settings" ref={form} aria-label={label} onSubmit={(event) => void submit(event)}>
      <h3>{label}</h3>
      {children}
      {wrong.value && <Problem problem={wrong.value} />}
      <div class="row">
        <button type="submit" class="primary" disabled={busy.value}>
          {busy.value ? "Keeping…" : "Keep it"}
        </button>
        <button type="button" class="plain" onClick={leave}>
          leave it
        </button>
      </div>
    </form>
  );
}

interface TextProps {
  readonly label: string;
  readonly name: string;
  readonly value: unknown;
  readonly placeholder?: string;
  readonly hint?: string;
  readonly required?: boolean;
}

export function TextField({label, name, value, placeholder, hint, required = false}: TextProps) {
  const id = useId();
  return (
    <div class="setting">
      <label for={id}>{label}</label>
      <input
        id={id}
        type="text"
        name={name}
        required={required}
        defaultValue={value === undefined ? "" : String(value)}
        placeholder={placeholder}
        aria-describedby={hint === undefined ? undefined : `${id}-hint`}
      />
      {hint !== undefined && (
        <p class="hint" id={`${id}-hint`}>
          {hint}
        </p>
      )}
    </div>
  );
}

interface KindProps {
  readonly label: string;
  readonly kinds: readonly string[];
  readonly value: unknown;
  /** Whether it may be of none of them. */
  readonly another?: boolean;
}

export function KindField({label, kinds, value, another = false}: KindProps) {
  return (
    <label class="setting">
      {label}
      <select name="kind">
        {another && <option value="">another</option>}
        {kinds.map((one) => (
          <option key={one} value={one} selected={one === value}>
            {one}
          </option>
        ))}
      </select>
    </label>
  );
}

interface CheckProps {
  readonly label: string;
  readonly name: string;
  readonly checked: boolean;
  readonly value?: string;
}

export function CheckField({label, name, checked, value = "yes"}: CheckProps) {
  return (
    <label class="row">
      <input type="checkbox" name={name} value={value} defaultChecked={checked} /> {label}
    </label>
  );
}

/** What was written, without spaces around it; undefined where nothing was. */
export function written(filled: FormData, name: string): string | undefined {
  const text = String(filled.get(name) ?? "").trim();
  return text === "" ? undefined : text;
}
