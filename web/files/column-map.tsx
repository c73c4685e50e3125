import type {Signal} from "@preact/signals";
import {useEffect, useId} from "preact/hooks";
import type {SourceColumn} from "../api/types.ts";
import type {Settings} from "./answers.ts";
import {loadColumnRoles, type Role, rolesFor} from "./column-roles.ts";
import {type Held, heldBy, holding} from "./mapping.ts";

interface Props {
  readonly as: "yield" | "lab" | "points";
  readonly columns: readonly SourceColumn[];
  readonly settings: Signal<Settings>;
}

/** What each column of a table holds, every one to be changed by hand. */
export function ColumnMap({as, columns, settings}: Props) {
  useEffect(loadColumnRoles, []);
  const roles = rolesFor(as);
  const held = heldBy(as, settings.value, columns);
  return (
    <fieldset class="column-map">
      <legend>Columns</legend>
      {columns.map((column) => (
        <Column
          key={column.heading}
          column={column}
          roles={roles}
          held={held.get(column.heading)}
          put={(next) => {
            settings.value = holding(as, settings.value, columns, column.heading, next);
          }}
        />
      ))}
    </fieldset>
  );
}

/** The same in a line: what each column is read as, and which are passed over. */
export function ColumnsInWords({as, columns, settings}: Props) {
  useEffect(loadColumnRoles, []);
  const roles = rolesFor(as);
  const held = heldBy(as, settings.value, columns);
  const read = columns.flatMap(({heading}) => {
    const one = held.get(heading);
    if (!one) return [];
    const words = roles.find(({is}) => is === one.is)?.words ?? one.is;
    return [`${heading} as ${[words, one.unit, one.method].filter(Boolean).join(", ")}`];
  });
  const depth = as === "lab" ? columns.find((column) => givesDepth(column, settings.value)) : undefined;
  if (depth) read.push(`${depth.heading} as the depth, ${settings.value.depth}`);
  const others = columns.flatMap((column) => (held.has(column.heading) || column === depth ? [] : [column.heading]));
  if (columns.length === 0) return null;
  return (
    <p class="small soft">
      {read.length > 0 ? `Reads ${read.join("; ")}.` : "No column is told yet."}
      {others.length > 0 && ` Passes over ${others.join(", ")}.`}
    </p>
  );
}

/** Whether a column holds the one depth that is in the settings. */
const givesDepth = ({readAs, sample}: SourceColumn, {depth}: Settings): boolean =>
  readAs === "depth" &&
  sample.length === 1 &&
  typeof depth === "string" &&
  Number.parseFloat(depth) === lastOf(sample[0]);

/** 8 of "8" and of "0-8 in". */
const lastOf = (cell = ""): number => Number(/(\d+(?:\.\d+)?)\D*$/.exec(cell)?.[1]);

interface ColumnProps {
  readonly column: SourceColumn;
  readonly roles: readonly Role[];
  readonly held: Held | undefined;
  readonly put: (next: Held | undefined) => void;
}

function Column({column: {heading, sample, unit: read}, roles, held, put}: ColumnProps) {
  const id = useId();
  const role = roles.find(({is}) => is === held?.is);
  return (
    <div class="column">
      <label for={id}>
        <b>{heading || "no heading"}</b> <span class="small soft">{sample.slice(0, 3).join(", ")}</span>
      </label>
      <div class="row">
        <select
          id={id}
          value={held?.is ?? ""}
          onChange={({currentTarget}) => put(currentTarget.value === "" ? undefined : {is: currentTarget.value})}
        >
          <option value="">passed over</option>
          {held && !role && <option value={held.is}>{held.is}</option>}
          {roles.map(({is, words}) => (
            <option key={is} value={is}>
              {words}
            </option>
          ))}
        </select>
        {held && role && role.units.length > 0 && (
          <OneOf
            label={`Unit of ${heading}`}
            none={role.methods.length > 0 ? "unit?" : read && !held.unit ? read : "as its heading says"}
            words={role.units}
            value={held.unit}
            put={(unit) => put({...held, unit})}
          />
        )}
        {held && role && role.methods.length > 0 && (
          <OneOf
            label={`Method of ${heading}`}
            none="method?"
            words={role.methods}
            value={held.method}
            put={(method) => put({...held, method})}
          />
        )}
      </div>
    </div>
  );
}

interface OneOfProps {
  readonly label: string;
  readonly none: string;
  readonly words: readonly string[];
  readonly value: string | undefined;
  readonly put: (next: string | undefined) => void;
}

function OneOf({label, none, words, value, put}: OneOfProps) {
  return (
    <select
      aria-label={label}
      value={value ?? ""}
      onChange={({currentTarget}) => put(currentTarget.value === "" ? undefined : currentTarget.value)}
    >
      <option value="">{none}</option>
      {value !== undefined && !words.includes(value) && <option>{value}</option>}
      {words.map((word) => (
        <option key={word}>{word}</option>
      ))}
    </select>
  );
}
