import {useSignal} from "@preact/signals";
import {useId} from "preact/hooks";
import {api, got} from "../api/client.ts";
import type {ApiProblem, HandOverCard, ResultCard, Strategy} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {Problem} from "../parts/problem.tsx";
import {change, fresh, page} from "../state/field.ts";
import type {FileOut} from "./for-whom.ts";
import {cautionRead, forgetTaken, takenFiles} from "./taken.ts";

interface Props {
  readonly made: ResultCard;
  readonly files: readonly FileOut[];
  readonly taking: string;
}

/** Enters in the book what was taken from here and to whom it went; beneath, what went out before. */
export function HandedOver({made, files: all, taking}: Props) {
  const id = useId();
  const to = useSignal("");
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const busy = useSignal(false);
  const out = all.filter(({name}) => takenFiles(taking).has(name));
  const files = out.map(({name}) => name);
  const enter = async () => {
    busy.value = true;
    const json = {files, acknowledged: cautionRead(taking), ...(to.value.trim() !== "" && {to: to.value.trim()})};
    const asked = () => got(api.results[":id"]["handed-over"].$post({param: {id: made.id}, json}));
    wrong.value = await change(asked);
    busy.value = false;
    if (wrong.value) return;
    to.value = "";
    forgetTaken(taking);
  };
  return (
    <fieldset class="handed-over">
      <legend>Handed over</legend>
      <p class="small" aria-live="polite">
        {files.length === 0
          ? "Take the files that go out; then enter here to whom they went. The book keeps it for good."
          : `Taken: ${rated(
              out.flatMap(({strategy}) => strategy ?? []),
              out.flatMap(({products}) => products),
            )}${listed(files)}.`}
      </p>
      <label for={id}>To whom</label>
      <input
        id={id}
        type="text"
        maxLength={200}
        value={to.value}
        placeholder="who spreads, or who gets them"
        onInput={({currentTarget}) => {
          to.value = currentTarget.value;
        }}
      />
      <button type="button" disabled={files.length === 0 || busy.value || !fresh.value} onClick={() => void enter()}>
        Enter as handed over
      </button>
      {wrong.value && <Problem problem={wrong.value} />}
      <History of={page.value?.handOvers ?? []} />
    </fieldset>
  );
}

function History({of}: {readonly of: readonly HandOverCard[]}) {
  if (of.length === 0) return null;
  return (
    <ul class="list small">
      {of.map(({at, who, to, strategies, products, rates, files, inForce}) => (
        <li key={`${at}/${files[0]?.name}`}>
          <b style="font-weight:600">{moment(at)}</b>
          {to && ` to ${to}`}, entered by {who}: {rated(strategies, products)}
          {listed(files.map(({name}) => name))}.{" "}
          {rates.length > 0 && (inForce ? "The rates are still those." : "The rates have changed since.")}
        </li>
      ))}
    </ul>
  );
}

/** "rates of zones for 11-52-0 and 0-0-60; "; nothing where none are among the files. */
function rated(strategies: readonly Strategy[], products: readonly string[]): string {
  if (strategies.length === 0) return "";
  const whose = [...new Set(strategies)].map((strategy) => NAMES[strategy].toLowerCase());
  const what = [...new Set(products)];
  return `rates of ${inWords(whose)}${what.length > 0 ? ` for ${inWords(what)}` : ""}; `;
}

const inWords = (words: readonly string[]): string =>
  words.length < 2 ? words.join() : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;

const SHOWN = 3;

function listed(names: readonly string[]): string {
  const more = names.length - SHOWN;
  return more > 1 ? `${names.slice(0, SHOWN).join(", ")} and ${more} more` : names.join(", ");
}

const moment = (at: string): string =>
  new Date(at).toLocaleString("en-GB", {dateStyle: "medium", timeStyle: "short"}).replace(",", "");
