import {createContext} from "preact";
import {useContext, useEffect, useId, useRef} from "preact/hooks";
import {quantityShown} from "../units/shown.ts";
import {beginning, choiceFor, choicesOf, nameOfChoice, type Shape, wordsOf} from "./job-schema.ts";

interface Props {
  readonly shape: Shape;
  readonly value: unknown;
  /** `undefined` takes it out. */
  readonly put: (next: unknown) => void;
  readonly label: string;
}

type Plain = Readonly<Record<string, unknown>>;

/** Words to choose from, by the setting they are for; others may be written. */
export const Suggestions = createContext<Readonly<Record<string, readonly string[]>>>({});

/** Any part of a job as a form, by its schema: every setting there is, with what it is for. */
export function SchemaForm({shape, value, put, label}: Props) {
  const choices = choicesOf(shape);
  const two = wordOrSection(shape);
  if (two) return <WordOrSection {...{shape, value, put, label}} {...two} />;
  if (choices && !choices.every(isOneWord)) return <Choice {...{shape, value, put, label}} choices={choices} />;
  if (shape.properties) return <Properties {...{shape, value, put, label}} />;
  if (shape.type === "object") return <Named {...{shape, value, put, label}} />;
  if (shape.type === "array" && !shape.prefixItems && !isOneWord(shape.items ?? {})) {
    return <List {...{shape, value, put, label}} />;
  }
  return <Word {...{shape, value, put, label}} />;
}

const isOneWord = (shape: Shape): boolean =>
  shape.properties === undefined &&
  shape.type !== "object" &&
  shape.type !== "array" &&
  (choicesOf(shape) ?? []).every(isOneWord);

/** Each setting of a section by its name; those with settings of their own fold up. */
function Properties({shape, value, put}: Props) {
  const object = asObject(value);
  return (
    <div class="settings">
      {Object.entries(shape.properties ?? {}).map(([key, of]) => {
        // What tells one way of saying it from another was chosen above.
        if (of.const !== undefined) return null;
        const one = {
          shape: of,
          value: object[key],
          put: (next: unknown) => put(withKey(object, key, next)),
          label: wordsOf(key),
        };
        if (isWord(of)) return <SchemaForm key={key} {...one} />;
        return (
          <details key={key} class="of-section">
            <summary>
              {one.label} {one.value !== undefined && <span class="small soft">set</span>}
            </summary>
            {of.description && <p class="small soft">{of.description}</p>}
            <SchemaForm {...one} />
          </details>
        );
      })}
    </div>
  );
}

const isWord = (shape: Shape): boolean =>
  isOneWord(shape) ||
  wordOrSection(shape) !== undefined ||
  (shape.type === "array" && (shape.prefixItems !== undefined || isOneWord(shape.items ?? {})));

/** What may be said in a word or in a section of its own. */
function wordOrSection(shape: Shape): {word: Shape; section: Shape} | undefined {
  const choices = choicesOf(shape) ?? [];
  const word = choices.find((choice) => isOneWord(choice) && choice.const === undefined);
  const section = choices.find(({properties}) => properties);
  return choices.length === 2 && word && section ? {word, section} : undefined;
}

/** Most say it in a word; the other way is a click away. */
function WordOrSection(props: Props & {readonly word: Shape; readonly section: Shape}) {
  const {shape, value, put, label, word, section} = props;
  const inWord = typeof value !== "object";
  const other = nameOfChoice(section);
  return (
    <div>
      {inWord ? (
        <Word shape={{...word, ...(shape.description && {description: shape.description})}} {...{value, put, label}} />
      ) : (
        <SchemaForm shape={section} {...{value, put, label}} />
      )}
      <button type="button" class="plain small" onClick={() => put(inWord ? {} : undefined)}>
        {inWord ? `${label} by ${other}` : `${label} in a word`}
      </button>
    </div>
  );
}

/** One of several ways to say it. */
function Choice({choices, value, put, label}: Props & {readonly choices: readonly Shape[]}) {
  const id = useId();
  const at = choiceFor(choices, value);
  const chosen = choices[at];
  return (
    <div class="settings">
      <div class="setting">
        <label for={id}>{label}</label>
        <select
          id={id}
          value={String(at)}
          onChange={({currentTarget}) => {
            const next = choices[Number(currentTarget.value)];
            put(next && beginning(next));
          }}
        >
          <option value="-1">not said</option>
          {choices.map((choice, i) => (
            <option key={nameOfChoice(choice)} value={String(i)}>
              {nameOfChoice(choice)}
            </option>
          ))}
        </select>
      </div>
      {chosen && chosen.const === undefined && <SchemaForm shape={chosen} value={value} put={put} label={label} />}
    </div>
  );
}

function List({shape, value, put, label}: Props) {
  const items = Array.isArray(value) ? (value as readonly unknown[]) : [];
  const of = shape.items ?? {};
  return (
    <div class="settings">
      {items.map((item, i) => (
        <details key={i} class="of-section" open>
          <summary>
            {label} {i + 1}
          </summary>
          <SchemaForm
            shape={of}
            value={item}
            label={label}
            put={(next) => put(items.flatMap((one, n) => (n === i ? (next === undefined ? [{}] : [next]) : [one])))}
          />
          <div>
            <button
              type="button"
              class="plain"
              onClick={() => put(items.length === 1 ? undefined : items.filter((_, n) => n !== i))}
            >
              take {label} {i + 1} out
            </button>
          </div>
        </details>
      ))}
      <div>
        <button type="button" class="plain" onClick={() => put([...items, beginning(of)])}>
          + add to {label}
        </button>
      </div>
    </div>
  );
}

/** Settings by names of the user's own: units, zones, crops, ids. */
function Named({shape, value, put, label}: Props) {
  const object = asObject(value);
  const of = shape.additionalProperties || {};
  const add = (input: HTMLInputElement) => {
    const name = input.value.trim();
    if (name === "" || Object.hasOwn(object, name)) return;
    put({...object, [name]: beginning(of)});
    input.value = "";
  };
  return (
    <div class="settings">
      {Object.entries(object).map(([name, inside]) => (
        <div key={name} class="of-section">
          <SchemaForm shape={of} value={inside} label={name} put={(next) => put(withKey(object, name, next ?? ""))} />
          <button type="button" class="plain" onClick={() => put(withKey(object, name, undefined))}>
            take {name} out
          </button>
        </div>
      ))}
      <input
        type="text"
        aria-label={`A name to add to ${label}`}
        placeholder="add a name, then Enter"
        onKeyDown={(event) => {
          if (event.key !== "Enter") return;
          event.preventDefault();
          add(event.currentTarget);
        }}
        onBlur={({currentTarget}) => add(currentTarget)}
      />
    </div>
  );
}

/** Text, number, one of a few words, yes or no, or a list of words with commas between. */
function Word({shape, value, put, label}: Props) {
  const id = useId();
  const words = wordChoices(shape);
  const suggested = useContext(Suggestions)[label];
  const input = useRef<HTMLInputElement>(null);
  // What is being typed stays as it is typed, as long as it means the same.
  useEffect(() => {
    const at = input.current;
    if (at && JSON.stringify(written(shape, at.value)) !== JSON.stringify(value)) at.value = textOf(value);
  });
  return (
    <div class="setting">
      <label for={id}>{label}</label>
      {words ? (
        <select
          id={id}
          aria-describedby={`${id}-hint`}
          value={JSON.stringify(value) ?? ""}
          onChange={({currentTarget}) => put(currentTarget.value === "" ? undefined : JSON.parse(currentTarget.value))}
        >
          <option value="">{shape.default === undefined ? "not said" : `usual: ${said(shape.default)}`}</option>
          {words.map((word) => (
            <option key={String(word)} value={JSON.stringify(word)}>
              {said(word)}
            </option>
          ))}
        </select>
      ) : (
        <input
          id={id}
          type="text"
          aria-describedby={`${id}-hint`}
          ref={input}
          defaultValue={textOf(value)}
          placeholder={shape.default === undefined ? "" : quantityShown(said(shape.default))}
          list={suggested ? `${id}-words` : undefined}
          onInput={({currentTarget}) => put(written(shape, currentTarget.value))}
        />
      )}
      {suggested && (
        <datalist id={`${id}-words`}>
          {suggested.map((word) => (
            <option key={word} value={word} />
          ))}
        </datalist>
      )}
      <p class="hint" id={`${id}-hint`}>
        {shape.description}
      </p>
    </div>
  );
}

function wordChoices(shape: Shape): readonly unknown[] | undefined {
  if (shape.enum) return shape.enum;
  if (shape.const !== undefined) return [shape.const];
  if (shape.type === "boolean") return [true, false];
  const inner = choicesOf(shape)?.map(wordChoices);
  return inner?.every((one) => one !== undefined) ? inner.flat() : undefined;
}

const textOf = (value: unknown): string =>
  value === undefined ? "" : Array.isArray(value) ? value.join(", ") : String(value);

/** Numbers are written as numbers; what is none is left for the server to refuse. */
function written(shape: Shape, text: string): unknown {
  const trimmed = text.trim();
  if (trimmed === "") return undefined;
  if (shape.type === "array") {
    const of = shape.prefixItems?.[0] ?? shape.items ?? {};
    return trimmed.split(/\s*,\s*/).map((part) => written(of, part));
  }
  const takesNumber = [shape, ...(choicesOf(shape) ?? [])].some(({type}) => type === "number" || type === "integer");
  const number = Number(trimmed);
  if (takesNumber && Number.isFinite(number)) return number;
  return choicesOf(shape)?.some((one) => one.const === true) && trimmed === "true" ? true : trimmed;
}

const said = (word: unknown): string =>
  word === true ? "yes" : word === false ? "no" : typeof word === "object" ? "as usual" : String(word);

const asObject = (value: unknown): Plain =>
  typeof value === "object" && value !== null && !Array.isArray(value) ? (value as Plain) : {};

/** A section left empty is none. */
function withKey(object: Plain, key: string, next: unknown): Plain | undefined {
  const {[key]: _, ...others} = object;
  const left = next === undefined ? others : {...object, [key]: next};
  return Object.keys(left).length > 0 ? left : undefined;
}
