import {page, result} from "../../state/field.ts";
import {say} from "../../units/shown.ts";
import {addPart, changeCorners, cutOut, partsNow, savingBoundary, takeRingOut} from "./boundary.ts";
import {GroundList} from "./ground-list.tsx";
import {KeepOutForm} from "./keep-out-form.tsx";
import {sayParts} from "./parts.ts";
import {SetbackForm} from "./setback-form.tsx";

/** The ground by hand: the boundary, where no core is taken, and where less is spread. */
export function GroundPanel() {
  return (
    <section class="rows-of" style="gap:14px" aria-label="Ground">
      <h2>Ground</h2>
      <Boundary />
      <GroundList
        kind="keep-out"
        title="Keep-outs"
        hint="No core is taken there; its acres still belong to their bags."
        Form={KeepOutForm}
      />
      <GroundList
        kind="setback"
        title="Setbacks"
        hint="Ground by water, inlets and wells where less is spread, or nothing."
        Form={SetbackForm}
      />
    </section>
  );
}

function Boundary() {
  const parts = partsNow();
  const acres = page.value?.card.acres ?? 0;
  const statedIssue = result.value?.issues.find(({code}) => code === "boundary/stated-area");
  return (
    <fieldset>
      <legend>Boundary</legend>
      <p class="figures">
        {say(acres, "ac")}, {sayParts(parts)}
      </p>
      <div class="row">
        <button type="button" disabled={savingBoundary.value} onClick={() => changeCorners()}>
          Change corners
        </button>
        <button type="button" disabled={savingBoundary.value} onClick={cutOut}>
          Cut out ground
        </button>
        <button type="button" disabled={savingBoundary.value} onClick={addPart}>
          Add a part
        </button>
      </div>
      {(parts.length > 1 || (parts[0]?.length ?? 0) > 1) && <Rings />}
      {savingBoundary.value && (
        <p class="small soft" role="status">
          Saving the boundary…
        </p>
      )}
      {statedIssue && (
        <p class="note">
          {statedIssue.message} {statedIssue.hint}
        </p>
      )}
      <p class="small soft">
        A changed boundary is a new file of the field. What rests on it is worked out anew; undo brings the old one
        back.
      </p>
    </fieldset>
  );
}

/** Parts and cut-outs one by one, to be taken out. */
function Rings() {
  const parts = partsNow();
  return (
    <ul class="list small">
      {parts.flatMap((rings, part) =>
        rings.map((_, ring) => {
          if (ring === 0 && parts.length === 1) return null;
          const of = parts.length > 1 ? ` of part ${part + 1}` : "";
          const name = ring === 0 ? `Part ${part + 1}` : `Cut-out ${ring}${of}`;
          return (
            <li key={name}>
              {name}{" "}
              <button type="button" class="plain" onClick={() => takeRingOut(part, ring)}>
                {ring === 0 ? "take out" : "put back into the field"}
                <span class="unseen"> {name}</span>
              </button>
            </li>
          );
        }),
      )}
    </ul>
  );
}
