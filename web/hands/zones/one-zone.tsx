import {useSignal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import type {ApiProblem, ZoneEdit} from "../../api/types.ts";
import {askForZone, show} from "../../state/view.ts";
import type {Sketch} from "./draw-on-zones.ts";
import {redrawBorder} from "./redraw-border.ts";
import {centimetre, neighboursOf, placeOf, polygonOf, type ZoneShape} from "./zone-shapes.ts";

/** The ways to change the job, which wait for zones that are fresh. */
export interface Hands {
  readonly put: (...edits: readonly ZoneEdit[]) => Promise<void>;
  readonly draw: (sketch: Sketch) => void;
  readonly tell: (wrong: ApiProblem | undefined) => void;
}

interface Props {
  readonly zone: ZoneShape;
  readonly zones: readonly ZoneShape[];
  readonly hands: Hands;
}

/** What can be done to one zone. */
export function OneZone({zone, zones, hands}: Props) {
  const {zone: number} = zone;
  const {put, tell} = hands;
  const drawn = (mode: Sketch["mode"], says: string, done: string, finish: (points: [number, number][][]) => void) =>
    hands.draw({
      mode,
      says,
      done,
      finish: (shape) => finish(shape.type === "Polygon" ? polygonOf(shape) : [shape.coordinates.map(centimetre)]),
    });
  const splitByLine = () =>
    drawn(
      "line",
      `A line right through zone ${number}; the smaller side becomes a zone.`,
      "Split",
      ([line = []]) => void put({edit: "split", zone: placeOf(zone), line}),
    );
  const give = () =>
    drawn(
      "polygon",
      `The ground that is to belong to zone ${number}.`,
      "Give it",
      (polygon) => void put({edit: "assign", polygon, to: placeOf(zone)}),
    );
  const redraw = () =>
    drawn(
      "line",
      `The new border of zone ${number}, from a place on the old one to another.`,
      "Move the border",
      ([line = []]) => {
        const moved = redrawBorder(zones, number, line);
        if (typeof moved === "string")
          return tell({code: "zones/border-not-moved", message: moved, hint: "Begin and end on the border."});
        const edits = moved.map(
          ({polygon, to}): ZoneEdit => ({
            edit: "assign",
            polygon: polygonOf({coordinates: polygon}),
            to: placeOf(zones.find((one) => one.zone === to) as ZoneShape),
          }),
        );
        void put(...edits);
      },
    );
  return (
    <section class="rows-of" aria-label={`Changes to zone ${number}`}>
      <MergeWith zone={zone} zones={zones} put={put} />
      <div class="by-hand">
        <p>Split zone {number}</p>
        <span class="row">
          <button type="button" onClick={splitByLine}>
            By a line
          </button>
          <IntoParts zone={zone} put={put} />
        </span>
      </div>
      <div class="by-hand">
        <p>Its ground</p>
        <span class="row">
          <button type="button" onClick={redraw}>
            Redraw its border
          </button>
          <button type="button" onClick={give}>
            Give it ground
          </button>
        </span>
        <p class="small soft">A border redrawn outside the zone brings ground in; inside, it gives it away.</p>
      </div>
      <Rename zone={zone} put={put} />
    </section>
  );
}

type Part = Pick<Props, "zone"> & Pick<Hands, "put">;

/** The other zone comes from a list, or from the next click on the map. */
function MergeWith({zone, zones, put}: Part & Pick<Props, "zones">) {
  const other = useSignal("");
  const {zone: number} = zone;
  const others = zones.filter((one) => one.zone !== number);
  const beside = neighboursOf(zones, number);
  const merge = (into: number) => {
    const found = zones.find((one) => one.zone === into);
    if (found && into !== number) void put({edit: "merge", zones: [placeOf(zone), placeOf(found)]});
  };
  const asking = askForZone.value !== undefined;
  const ask = () => {
    show.value = "zones";
    askForZone.value = asking
      ? undefined
      : (clicked) => {
          askForZone.value = undefined;
          merge(clicked);
        };
  };
  useEffect(
    () => () => {
      askForZone.value = undefined;
    },
    [],
  );
  if (others.length === 0) return null;
  return (
    <div class="by-hand">
      <p id={`merge-${number}`}>Merge zone {number} with</p>
      <span class="row">
        <select
          aria-labelledby={`merge-${number}`}
          value={other.value}
          onChange={({currentTarget}) => {
            other.value = currentTarget.value;
          }}
        >
          <option value="">choose…</option>
          {others.map(({zone: one, label}) => (
            <option key={one} value={String(one)}>
              {label === `Zone ${one}` ? `zone ${one}` : `${one}, ${label}`}
              {beside.includes(one) ? "" : " (does not touch)"}
            </option>
          ))}
        </select>
        <button type="button" disabled={other.value === ""} onClick={() => merge(Number(other.value))}>
          Merge
        </button>
        <button type="button" class="plain" aria-pressed={asking} onClick={ask}>
          {asking ? "click a zone, or leave it" : "or click it on the map"}
        </button>
      </span>
    </div>
  );
}

function IntoParts({zone, put}: Part) {
  const parts = useSignal(2);
  return (
    <>
      <span class="small soft">or into</span>
      <select
        aria-label={`Kinds of ground to split zone ${zone.zone} into`}
        value={String(parts.value)}
        onChange={({currentTarget}) => {
          parts.value = Number(currentTarget.value);
        }}
      >
        {[2, 3, 4, 5, 6].map((count) => (
          <option key={count}>{count}</option>
        ))}
      </select>
      <button type="button" onClick={() => void put({edit: "split", zone: placeOf(zone), parts: parts.value})}>
        Kinds of ground
      </button>
    </>
  );
}

function Rename({zone, put}: Part) {
  const own = zone.label === `Zone ${zone.zone}` ? "" : zone.label;
  const name = useSignal(own);
  const save = (event: Event) => {
    event.preventDefault();
    const wanted = name.value.trim();
    if (wanted !== "" && wanted !== own) void put({edit: "rename", zone: placeOf(zone), name: wanted});
  };
  return (
    <form class="by-hand" onSubmit={save}>
      <label for={`name-${zone.zone}`}>Name of zone {zone.zone}</label>
      <span class="row">
        <input
          id={`name-${zone.zone}`}
          type="text"
          maxLength={60}
          placeholder={`Zone ${zone.zone}`}
          value={name.value}
          onInput={({currentTarget}) => {
            name.value = currentTarget.value;
          }}
        />
        <button type="submit" disabled={name.value.trim() === "" || name.value.trim() === own}>
          Rename
        </button>
      </span>
    </form>
  );
}
