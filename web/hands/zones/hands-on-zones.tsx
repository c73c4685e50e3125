import "./zones.css";
import {useSignal} from "@preact/signals";
import type {Polygon} from "geojson";
import {useRef} from "preact/hooks";
import type {ApiProblem} from "../../api/types.ts";
import {focusOn} from "../../parts/focus.ts";
import {fresh, page, result, unrated} from "../../state/field.ts";
import {chosenZone, show} from "../../state/view.ts";
import {read} from "../../stations/job-path.ts";
import {say} from "../../units/shown.ts";
import {drawOnZones} from "./draw-on-zones.ts";
import {EditList} from "./edit-list.tsx";
import {addEdits, editsInJob} from "./edits.ts";
import {type Hands, OneZone} from "./one-zone.tsx";
import {polygonOf, type ZoneShape, zoneShapes} from "./zone-shapes.ts";

/** Zones changed by hand: a zone is chosen, then merged, split, redrawn or named; what was done stands in a list. */
export function HandsOnZones() {
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const seen = useRef<readonly ZoneShape[] | undefined>(undefined);
  // Shapes of a new result take a moment to come: the panel stays as it is till then, and the focus in it.
  const zones = zoneShapes() ?? (result.value?.zones ? seen.current : undefined);
  seen.current = zones;
  const edits = editsInJob();
  const tell = (problem: ApiProblem | undefined) => {
    wrong.value = problem;
  };
  if (typeof edits === "string") {
    return (
      <fieldset>
        <legend>By hand</legend>
        <p class="note">
          The changes to the zones stand in {edits} and are not changed here. Put the list itself under "edits" in the
          job to go on with it on this page.
        </p>
      </fieldset>
    );
  }
  return (
    <fieldset>
      <legend>By hand</legend>
      {zones && zones.length > 0 ? (
        <>
          <ZoneChoice zones={zones} />
          <Actions zones={zones} tell={tell} />
        </>
      ) : (
        <p class="note">Zones can be merged, split, redrawn and named here once they are made.</p>
      )}
      {wrong.value && (
        <p class="problem small" role="alert">
          {wrong.value.message} {wrong.value.hint}
        </p>
      )}
      <EditList edits={edits} tell={tell} />
      {unrated.value && edits.length > 0 && (
        <p class="note">Rates wait: {unrated.value.message} What can be done stands over the maps.</p>
      )}
      {unrated.value === undefined && read(page.value?.job, ["lab"]) !== undefined && (
        <p class="note">
          Lab results speak for the zones as they were sampled. When borders change, rates wait until there are samples
          that fit; a name changes nothing.
        </p>
      )}
    </fieldset>
  );
}

/** Which zone is to be changed; a click on the map chooses too. */
function ZoneChoice({zones}: {readonly zones: readonly ZoneShape[]}) {
  return (
    <fieldset class="zone-choice">
      <legend class="unseen">Zone to change</legend>
      <p class="small soft">Choose a zone here or on the map of zones.</p>
      {zones.map(({zone, label, acres}) => (
        <label key={zone}>
          <input
            type="radio"
            name="chosen-zone"
            checked={chosenZone.value === zone}
            onChange={() => {
              chosenZone.value = zone;
              show.value = "zones";
            }}
          />
          <b>{label === `Zone ${zone}` ? label : `${zone}, ${label}`}</b>
          <span class="soft figures">{say(acres, "ac")}</span>
        </label>
      ))}
    </fieldset>
  );
}

/** A change made now would be about zones that are no longer there. */
const NOT_YET: ApiProblem = {
  code: "bench/zones-not-fresh",
  message: "The map still shows the zones as they were.",
  hint: "Wait until the new ones are worked out.",
};

interface ActionProps {
  readonly zones: readonly ZoneShape[];
  readonly tell: (wrong: ApiProblem | undefined) => void;
}

function Actions({zones, tell}: ActionProps) {
  const name = useSignal("");
  const chosen = zones.find(({zone}) => zone === chosenZone.value);
  const hands: Hands = {
    put: async (...edits) => {
      const wrong = fresh.value ? await addEdits(...edits) : NOT_YET;
      tell(wrong);
      // Zones are numbered anew: the number chosen before may be another's.
      if (wrong || !edits.some(({edit}) => edit === "merge")) return;
      chosenZone.value = undefined;
      focusOn([".zone-choice input"], {preventScroll: true});
    },
    draw: (sketch) => {
      tell(fresh.value ? undefined : NOT_YET);
      if (fresh.value) void drawOnZones(sketch);
    },
    tell,
  };
  const pin = () =>
    hands.draw({
      mode: "polygon",
      says: "The ground that is to be a zone of its own.",
      done: "Keep it",
      finish: (drawn) => {
        const named = name.value.trim();
        name.value = "";
        void hands.put({edit: "pin", polygon: polygonOf(drawn as Polygon), ...(named !== "" && {name: named})});
      },
    });
  return (
    <>
      {chosen && <OneZone key={chosen.zone} zone={chosen} zones={zones} hands={hands} />}
      <div class="by-hand">
        <p>Keep drawn ground as a zone, whatever zones are made around it</p>
        <span class="row">
          <input
            type="text"
            aria-label="Name of the new zone"
            placeholder="name, if it has one"
            maxLength={60}
            value={name.value}
            onInput={({currentTarget}) => {
              name.value = currentTarget.value;
            }}
          />
          <button type="button" onClick={pin}>
            Draw it
          </button>
        </span>
      </div>
    </>
  );
}
