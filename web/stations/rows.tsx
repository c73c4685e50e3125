import {useSignal} from "@preact/signals";
import type {ApiProblem} from "../api/types.ts";
import {page, saveJob} from "../state/field.ts";
import {type Path, read, write} from "./job-path.ts";

export interface RowColumn {
  readonly key: string;
  readonly label: string;
  readonly placeholder?: string;
  readonly choices?: readonly string[];
  readonly width?: string;
}

interface Props {
  readonly title: string;
  /** Of one row, as in "crop". */
  readonly one: string;
  readonly path: Path;
  readonly columns: readonly RowColumn[];
  /** Keys without which a row is not yet written to the job. */
  readonly needed: readonly string[];
}

type Row = Readonly<Record<string, unknown>>;

/** A short list in the job, as the crops or the products: rows are changed in place, added and taken out. */
export function Rows({title, one, path, columns, needed}: Props) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const draft = useSignal<Row | undefined>(undefined);
  const rows = (read(page.value?.job, path) as readonly Row[] | undefined) ?? [];
  const save = async (next: readonly Row[]) => {
    if (!page.value) return;
    wrong.value = await saveJob(write(page.value.job, path, next));
    if (!wrong.value) draft.value = undefined;
  };
  const put = (i: number, key: string, text: string) => {
    const trimmed = text.trim();
    const row = i < rows.length ? (rows[i] as Row) : (draft.value ?? {});
    if ((row[key] ?? "") === trimmed) return;
    const {[key]: _, ...others} = row;
    const next = trimmed === "" ? others : {...row, [key]: trimmed};
    if (i < rows.length) void save(rows.map((old, n) => (n === i ? next : old)));
    else if (needed.every((need) => next[need])) void save([...rows, next]);
    else draft.value = next;
  };
  const shown = draft.value ? [...rows, draft.value] : rows;
  return (
    <fieldset>
      <legend>{title}</legend>
      {shown.map((row, i) => (
        <div class="row" key={i} style="flex-wrap:nowrap">
          {columns.map(({key, label, placeholder, choices, width}) => (
            <Cell
              key={`${key}/${row[key] ?? ""}`}
              label={`${label} of ${one} ${i + 1}`}
              value={String(row[key] ?? "")}
              placeholder={placeholder ?? label}
              choices={choices}
              width={width ?? "100%"}
              put={(text) => put(i, key, text)}
            />
          ))}
          <button
            type="button"
            class="plain"
            aria-label={`Take out ${one} ${i + 1}`}
            onClick={() => {
              if (i < rows.length) void save(rows.filter((_, n) => n !== i));
              else draft.value = undefined;
            }}
          >
            ×
          </button>
        </div>
      ))}
      {wrong.value && (
        <p class="problem small" role="alert">
          {wrong.value.message} {wrong.value.hint}
        </p>
      )}
      {!draft.value && (
        <div>
          <button
            type="button"
            class="plain"
            onClick={() => {
              draft.value = Object.fromEntries(
                columns.flatMap(({key, choices}) => (choices ? [[key, choices[0]]] : [])),
              );
            }}
          >
            + add a {one}
          </button>
        </div>
      )}
    </fieldset>
  );
}

interface CellProps {
  readonly label: string;
  readonly value: string;
  readonly placeholder: string;
  readonly choices: readonly string[] | undefined;
  readonly width: string;
  readonly put: (text: string) => void;
}

function Cell({label, value, placeholder, choices, width, put}: CellProps) {
  if (choices) {
    return (
      <select aria-label={label} value={value} style={{width}} onChange={({currentTarget}) => put(currentTarget.value)}>
        {choices.map((choice) => (
          <option key={choice}>{choice}</option>
        ))}
      </select>
    );
  }
  return (
    <input
      type="text"
      aria-label={label}
      defaultValue={value}
      placeholder={placeholder}
      style={{width}}
      onKeyDown={({key, currentTarget}) => {
        if (key === "Enter") currentTarget.blur();
      }}
      onBlur={({currentTarget}) => put(currentTarget.value)}
    />
  );
}
