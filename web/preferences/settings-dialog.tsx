import {useSignal} from "@preact/signals";
import {useEffect, useRef} from "preact/hooks";
import type {ApiProblem, Preferences} from "../api/types.ts";
import {Problem} from "../parts/problem.tsx";
import {loadPreferences, preferences, savePreferences} from "./preferences.ts";

/** The way to the settings of the page, from the head of every page. */
export function SettingsButton() {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => void loadPreferences(), []);
  const now = preferences.value;
  return (
    <>
      <button type="button" class="no-print" onClick={() => dialog.current?.showModal()}>
        Settings
      </button>
      <dialog class="settings-of-page" ref={dialog} aria-labelledby="settings-title">
        <form method="dialog" class="row">
          <h2 id="settings-title">Settings</h2>
          <span class="spacer" />
          <button type="submit">Close</button>
        </form>
        {now && (
          <>
            <Units now={now} />
            <Background key={now.tiles?.template ?? ""} now={now} />
          </>
        )}
        <p class="small soft">Settings are kept in the book and hold for all its fields. Undo does not touch them.</p>
      </dialog>
    </>
  );
}

const SYSTEMS = [
  {value: "us", name: "US", as: "acres, lb/ac, feet, miles"},
  {value: "metric", name: "Metric", as: "hectares, kg/ha, metres, kilometres"},
] as const;

function Units({now}: {readonly now: Preferences}) {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  return (
    <fieldset>
      <legend>Amounts are shown in</legend>
      {SYSTEMS.map(({value, name, as}) => (
        <label key={value} class="choice">
          <input
            type="radio"
            name="units"
            value={value}
            checked={now.units === value}
            onChange={async () => {
              wrong.value = await savePreferences({...now, units: value});
            }}
          />
          <span>
            {name} <span class="small soft">{as}</span>
          </span>
        </label>
      ))}
      <p class="small soft">
        What you write may be in either: "2.5 ac" or "1 ha". Files that are handed over and printed reports keep their
        own units.
      </p>
      {wrong.value && <Problem problem={wrong.value} />}
    </fieldset>
  );
}

/** A source of background tiles: none unless the user names one. */
function Background({now}: {readonly now: Preferences}) {
  const template = useSignal(now.tiles?.template ?? "");
  const attribution = useSignal(now.tiles?.attribution ?? "");
  const maxZoom = useSignal(String(now.tiles?.maxZoom ?? 18));
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const save = async (event: Event) => {
    event.preventDefault();
    const {tiles: _, ...others} = now;
    const address = template.value.trim();
    const tiles = {template: address, attribution: attribution.value.trim(), maxZoom: Number(maxZoom.value)};
    wrong.value = await savePreferences(address === "" ? others : {...others, tiles});
  };
  const without = async () => {
    const {tiles: _, ...others} = now;
    wrong.value = await savePreferences(others);
  };
  return (
    <form onSubmit={(event) => void save(event)}>
      <fieldset>
        <legend>Under the maps</legend>
        <p class="small soft">
          {now.tiles
            ? "Tiles from the address below lie under the maps: that server is told which places you look at."
            : "Plain paper: nothing leaves this machine. You may name a server of tiles that you have a right to use; it is then told which places you look at. Nothing else is sent to it."}
        </p>
        <label class="tall">
          Address of a tile
          <input
            type="text"
            inputMode="url"
            spellcheck={false}
            placeholder="https://…/{z}/{x}/{y}.png"
            value={template.value}
            onInput={({currentTarget}) => {
              template.value = currentTarget.value;
            }}
          />
        </label>
        <label class="tall">
          Whose tiles they are
          <input
            type="text"
            placeholder="as their terms ask it to be named"
            value={attribution.value}
            onInput={({currentTarget}) => {
              attribution.value = currentTarget.value;
            }}
          />
        </label>
        <label class="tall">
          Finest zoom they have
          <input
            type="text"
            inputMode="numeric"
            value={maxZoom.value}
            onInput={({currentTarget}) => {
              maxZoom.value = currentTarget.value;
            }}
          />
        </label>
        <p class="small soft">
          https, or http on this machine. The server must let other pages read its tiles (CORS). Without a connection
          the maps are drawn on plain paper.
        </p>
        {wrong.value && <Problem problem={wrong.value} />}
        <div class="row">
          <button type="submit" disabled={template.value.trim() === (now.tiles?.template ?? "") && !isChanged()}>
            {now.tiles ? "Change the tiles" : "Lay these tiles under the maps"}
          </button>
          {now.tiles && (
            <button type="button" onClick={() => void without()}>
              Back to plain paper
            </button>
          )}
        </div>
      </fieldset>
    </form>
  );

  function isChanged(): boolean {
    const {attribution: whose = "", maxZoom: zoom = 18} = now.tiles ?? {};
    return now.tiles !== undefined && (attribution.value.trim() !== whose || maxZoom.value.trim() !== String(zoom));
  }
}
