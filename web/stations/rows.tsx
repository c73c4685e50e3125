import {useSignal} from "@preact/signals";
import {useId, useRef} from "preact/hooks";
import type {ApiProblem} from "../api/types.ts";
import {focusOn} from "../parts/focus.ts";
import {Written} from "../parts/written.tsx";
import {page, saveJob} from "../state/field.ts";
import {quantityShown} from "../units/shown.ts";
import {type Path, read, write} from "./job-path.ts";
import {tryRefused} from "./refused.ts";
import {sayRefused} from "./say-refused.ts";

export interface RowColumn {
  readonly key: string;
  readonly label: string;
  readonly placeholder?: string;
  readonly choices?: readonly string[];
  /** What is most likely meant; anything else may be written. */
  readonly suggestions?: readonly string[] | undefined;
  readonly width?: string;
  /** Shown beside the box, and put to a number that is written without one. */
  readonly unit?: ((row: Row) => string | undefined) | undefined;
}

interface Props {
  readonly title: string;
  /** Of one row, as in "crop". */
  readonly one: string;
  readonly path: Path;
  readonly columns: readonly RowColumn[];
  /** Keys without which a row is not yet written to the job. */
  readonly needed: readonly string[];
  /** What else of a row changes with one of its cells. */
  readonly follow?: (row: Row, key: string) => Row;
}

type Row = Readonly<Record<string, unknown>>;

/** A short list in the job, as the crops or the products: rows are changed in place, added and taken out. */
export function Rows({title, one, path, columns, needed, follow = (row) => row}: Props) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const draft = useSignal<{readonly at: number; readonly row: Row} | undefined>(undefined);
  const rows = (read(page.value?.job, path) as readonly Row[] | undefined) ?? [];
  const save = async (next: (rows: readonly Row[]) => readonly Row[]) => {
    wrong.value = await saveJob((job) => write(job, path, next((read(job, path) as readonly Row[] | undefined) ?? [])));
    if (!wrong.value) await tryRefused(path[0]);
  };
  // A row that is begun stands in its place until it is saved whole; rows before it may go meanwhile.
  const at = draft.value && Math.min(draft.value.at, rows.length);
  const put = async (i: number, key: string, text: string) => {
    const begun = i === at ? draft.value?.row : undefined;
    const row = begun ?? rows[i] ?? {};
    const trimmed = withUnit(text.trim(), columns.find((column) => column.key === key)?.unit?.(row));
    if ((row[key] ?? "") === trimmed) return;
    const changed = (old: Row): Row => follow(withCell(old, key, trimmed), key);
    const next = {at: i, row: changed(row)};
    if (begun) draft.value = next;
    if (begun && !needed.every((need) => next.row[need])) return;
    // By the time it is written the row may be there already, from its cell before.
    await save((now) => (i < now.length ? now.map((old, n) => (n === i ? changed(old) : old)) : [...now, next.row]));
    // By now it may have been written on, or another row begun.
    if (begun && !wrong.value && draft.value === next) draft.value = undefined;
  };
  const shown = draft.value ? [...rows.slice(0, at), draft.value.row, ...rows.slice((at ?? 0) + 1)] : rows;
  const list = useRef<HTMLFieldSetElement>(null);
  return (
    <fieldset ref={list}>
      <legend>{title}</legend>
      {shown.map((row, i) => (
        <div class="row" key={i} style="flex-wrap:nowrap">
          {columns.map(({key, label, placeholder, choices, suggestions, width, unit}, c) => (
            <Cell
              key={key}
              first={c === 0 && i === at}
              label={`${label} of ${one} ${i + 1}`}
              value={String(row[key] ?? "")}
              placeholder={quantityShown(placeholder ?? label)}
              choices={choices}
              suggestions={suggestions}
              width={width ?? "100%"}
              unit={unit?.(row)}
              put={(text) => void put(i, key, text)}
            />
          ))}
          <button
            type="button"
            class="plain"
            aria-label={`Take out ${one} ${i + 1}`}
            onClick={() => {
              if (i === at) draft.value = undefined;
              if (i < rows.length) void save((now) => now.filter((_, n) => n !== i));
              focusOn([".add"], {within: list.current ?? document});
            }}
          >
            ×
          </button>
        </div>
      ))}
      {wrong.value && (
        <p class="problem small" role="alert">
          {sayRefused(wrong.value, path, one, columns)}
        </p>
      )}
      {!draft.value && (
        <div>
          <button
            type="button"
            class="plain add"
            onClick={() => {
              const row = Object.fromEntries(columns.flatMap(({key, choices}) => (choices ? [[key, choices[0]]] : [])));
              draft.value = {at: rows.length, row};
            }}
          >
            + add a {one}
          </button>
        </div>
      )}
    </fieldset>
  );
}

/** A number alone is meant in the unit that stands beside its box. */
const withUnit = (text: string, unit: string | undefined): string =>
  unit !== undefined && /^\d+([.,]\d+)?$/.test(text) ? `${text} ${unit}` : text;

/** Empty takes it out. */
function withCell(row: Row, key: string, text: string): Row {
  const {[key]: _, ...others} = row;
  return text === "" ? others : {...row, [key]: text};
}

interface CellProps {
  /** Takes the focus when it appears. */
  readonly first: boolean;
  readonly label: string;
  readonly value: string;
  readonly placeholder: string;
  readonly choices: readonly string[] | undefined;
  readonly suggestions: readonly string[] | undefined;
  readonly width: string;
  readonly unit: string | undefined;
  readonly put: (text: string) => void;
}

function Cell({first, label, value, placeholder, choices, suggestions, width, unit, put}: CellProps) {
  const id = useId();
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
    <>
      <Written
        first={first}
        aria-label={label}
        value={value}
        placeholder={placeholder}
        style={{width}}
        list={suggestions ? id : undefined}
        put={put}
      />
      {unit !== undefined && !value.endsWith(unit) && <span class="small soft">{quantityShown(unit)}</span>}
      {suggestions && (
        <datalist id={id}>
          {suggestions.map((word) => (
            <option key={word} value={word} />
          ))}
        </datalist>
      )}
    </>
  );
}
