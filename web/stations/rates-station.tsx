import {GUIDES} from "./guides.ts";
import {Rows} from "./rows.tsx";
import {More, type SettingOf, Settings} from "./setting.tsx";

const GUIDE: readonly SettingOf[] = [
  {kind: "choice", label: "Guide", path: ["rates", "guide"], usual: "tri-state-2020", choices: GUIDES},
  {kind: "text", label: "State", path: ["rates", "state"], usual: "two letters"},
];

const MACHINE: readonly SettingOf[] = [
  {kind: "text", label: "Step", path: ["machine", "step"], usual: "1 lb/ac"},
  {kind: "text", label: "Smallest rate", path: ["machine", "min"], usual: "0 lb/ac"},
  {kind: "text", label: "Largest rate", path: ["machine", "max"], usual: "600 lb/ac"},
  {
    kind: "choice",
    label: "Below the smallest",
    path: ["machine", "belowMin"],
    usual: "zero",
    choices: [
      {value: "zero", name: "spread none"},
      {value: "minimum", name: "the smallest"},
    ],
  },
];

const MORE: readonly SettingOf[] = [
  {kind: "check", label: "Build up low soils", path: ["rates", "buildup"], usual: true},
  {kind: "number", label: "Years to build up", path: ["rates", "buildupYears"], usual: "the guide's"},
  {
    kind: "choice",
    label: "Unit without results",
    path: ["rates", "missing"],
    choices: [
      {value: undefined, name: "refuse"},
      {value: "zero", name: "spread none"},
    ],
  },
  {
    kind: "choice",
    label: "Yield goals",
    path: ["rates", "goals"],
    choices: [
      {value: undefined, name: "as given"},
      {value: "from yield history", name: "from yield history"},
    ],
  },
  {
    kind: "choice",
    label: "Between samples",
    path: ["rates", "between"],
    choices: [
      {value: undefined, name: "one rate a unit"},
      {value: "interpolated", name: "interpolated"},
    ],
  },
  {kind: "number", label: "CEC of the field", path: ["rates", "cec"], usual: "from the lab", hint: "meq/100 g"},
  {kind: "text", label: "Swath", path: ["machine", "swath"], usual: "100 ft"},
  {kind: "text", label: "Speed", path: ["machine", "speed"], usual: "15 mph"},
  {kind: "text", label: "Join rates within", path: ["machine", "merge", "within"], usual: "not joined"},
  {kind: "number", label: "Most different rates", path: ["machine", "levels"], usual: "any"},
  {kind: "text", label: "Spreader holds", path: ["machine", "load"], usual: "not said"},
  {kind: "text", label: "Rate outside", path: ["machine", "outside"], usual: "0 lb/ac"},
];

/** Guide, crops, products and the machine. */
export function RatesStation() {
  return (
    <>
      <Settings of={GUIDE} />
      <Rows
        title="Crops this application serves"
        one="crop"
        path={["rates", "crops"]}
        columns={[
          {key: "crop", label: "Crop", placeholder: "corn", width: "50%"},
          {key: "yieldGoal", label: "Yield goal", placeholder: "195 bu/ac", width: "50%"},
        ]}
        needed={["crop", "yieldGoal"]}
      />
      <Rows
        title="Products"
        one="product"
        path={["products"]}
        columns={[
          {key: "analysis", label: "Analysis", placeholder: "11-52-0", width: "31%"},
          {key: "nutrient", label: "Nutrient", choices: ["P2O5", "K2O"], width: "34%"},
          {key: "price", label: "Price", placeholder: "760 $/ton", width: "35%"},
        ]}
        needed={["analysis", "nutrient"]}
      />
      <fieldset>
        <legend>Machine</legend>
        <Settings of={MACHINE} />
      </fieldset>
      <More of={MORE} />
    </>
  );
}
