import {useId} from "preact/hooks";
import type {SourceCard} from "../api/types.ts";
import type {Settings} from "./answers.ts";
import {columnRoles} from "./column-roles.ts";
import {sayHarvest} from "./say-card.ts";

interface Props {
  readonly card: SourceCard;
  readonly settings: Settings;
  readonly put: (next: Settings) => void;
}

/** What was harvested and when: no log holds it, so it is shown with where it is from, or asked. */
export function CropAndSeason({card, settings, put}: Props) {
  const id = useId();
  const {crop, season} = settings;
  const write = (key: "crop" | "season", text: string) => {
    const {[key]: _, ...others} = settings;
    const value = key === "season" && /^\d+$/.test(text) ? Number(text) : text;
    put(text === "" ? others : {...settings, [key]: value});
  };
  return (
    <fieldset class="crop-and-season">
      <legend>{crop === undefined || season === undefined ? "The file does not say" : "Harvested"}</legend>
      <p>{sayHarvest(settings, card.proposed.yield ?? {})}</p>
      <div class="setting">
        <label for={`${id}-crop`}>crop</label>
        <input
          id={`${id}-crop`}
          type="text"
          list={`${id}-crops`}
          required
          value={String(crop ?? "")}
          onInput={({currentTarget}) => write("crop", currentTarget.value.trim())}
        />
        <datalist id={`${id}-crops`}>
          {(columnRoles.value?.crops ?? []).map((known) => (
            <option key={known} value={known} />
          ))}
        </datalist>
      </div>
      <div class="setting">
        <label for={`${id}-season`}>season</label>
        <input
          id={`${id}-season`}
          type="text"
          inputMode="numeric"
          required
          value={String(season ?? "")}
          onInput={({currentTarget}) => write("season", currentTarget.value.trim())}
        />
      </div>
    </fieldset>
  );
}
