import {openSheets} from "../hand-over/open-sheets.ts";
import {CoresByHand} from "../hands/cores/cores-by-hand.tsx";
import {ToGround} from "../hands/ground/to-ground.tsx";
import {many, NAMES} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {say} from "../units/shown.ts";
import {More, type SettingOf, Settings} from "./setting.tsx";

const GROUPS: readonly {readonly title: string; readonly of: readonly SettingOf[]}[] = [
  {
    title: "Whole field",
    of: [
      {kind: "text", label: "Largest composite", path: ["sampling", "wholeField", "maxArea"], usual: "25 ac"},
      {kind: "number", label: "Cores a bag", path: ["sampling", "wholeField", "cores"], usual: "20"},
    ],
  },
  {
    title: "Grid",
    of: [
      {kind: "text", label: "Cell", path: ["sampling", "grid", "cellArea"], usual: "2.5 ac"},
      {kind: "number", label: "Cores a bag", path: ["sampling", "grid", "cores"], usual: "10, around its middle 8"},
    ],
  },
  {
    title: "Zones",
    of: [
      {kind: "text", label: "Largest composite", path: ["sampling", "zone", "maxArea"], usual: "40 ac"},
      {kind: "number", label: "Cores a bag", path: ["sampling", "zone", "cores"], usual: "15"},
    ],
  },
];

const MORE: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Grid layout",
    path: ["sampling", "grid", "layout"],
    choices: [
      {value: undefined, name: "aligned"},
      {value: "staggered", name: "staggered"},
      {value: "unaligned", name: "unaligned"},
    ],
  },
  {
    kind: "choice",
    label: "Cores of the grid",
    path: ["sampling", "grid", "pattern"],
    choices: [
      {value: undefined, name: "all over the cell"},
      {value: "point", name: "around its middle"},
    ],
  },
  {
    kind: "choice",
    label: "Cores of zones",
    path: ["sampling", "zone", "placement"],
    choices: [
      {value: undefined, name: "all over"},
      {value: "line", name: "along one line"},
    ],
  },
  {
    kind: "choice",
    label: "Rates of whole field",
    path: ["sampling", "wholeField", "rate"],
    choices: [
      {value: undefined, name: "one"},
      {value: "per composite", name: "one a composite"},
    ],
  },
  {kind: "check", label: "Pieces of a zone apart", path: ["sampling", "zone", "piecesApart"], usual: false},
  {kind: "text", label: "Cores keep from the field's edge", path: ["sampling", "fieldEdge"], usual: "50 ft"},
  {kind: "text", label: "Cores keep from their unit's edge", path: ["sampling", "edge"], usual: "30 ft"},
  {
    kind: "text",
    label: "Sample ids begin with",
    path: ["field", "prefix"],
    usual: "from the name",
    hint: "One to three capital letters, without I and O.",
  },
  {kind: "check", label: "Check character in ids", path: ["sampling", "checkCharacter"], usual: false},
  {kind: "number", label: "Seed", path: ["seed"], usual: "1", hint: "Same seed, same cores."},
];

export function PlanStation() {
  return (
    <>
      <Settings of={[{kind: "text", label: "Depth", path: ["sampling", "depth"], usual: "8 in"}]} />
      {GROUPS.map(({title, of}) => (
        <fieldset key={title}>
          <legend>{title}</legend>
          <Settings of={of} />
        </fieldset>
      ))}
      {result.value && (
        <p class="small">
          For the crew and the lab:{" "}
          <button type="button" class="plain" onClick={openSheets}>
            sheets, labels, GPX and KML
          </button>{" "}
          at Hand-over.
        </p>
      )}
      <More of={MORE} sections={["sampling", "strategies", "field"]} />
      <ToGround kind="keep-out" />
      <CoresByHand />
      {result.value && (
        <ul class="list small soft">
          {result.value.strategies.map(({strategy, units, cores, walkM}) => (
            <li key={strategy}>
              {NAMES[strategy]}: {many(units, "bag")}, {many(cores, "core")}
              {walkM !== undefined && `, ${say(walkM / 1000, "km")} on foot`}
            </li>
          ))}
        </ul>
      )}
    </>
  );
}
