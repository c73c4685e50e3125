import {useEffect} from "preact/hooks";
import {ToGround} from "../hands/ground/to-ground.tsx";
import {page, saveJob} from "../state/field.ts";
import {guideOfJob, guides, loadGuides, USUAL_GUIDE} from "./guides.ts";
import {read, write} from "./job-path.ts";
import {nutrientOf} from "./nutrient-of.ts";
import {Rows} from "./rows.tsx";
import {More, type SettingOf, Settings} from "./setting.tsx";

/** What the chosen guide leaves to choose. */
function guideSettings(): SettingOf[] {
  const groups = guideOfJob()?.soilGroups;
  return [
    {
      kind: "choice",
      label: "Guide",
      path: ["rates", "guide"],
      usual: USUAL_GUIDE,
      tall: true,
      choices: guides.value.map(({id, name, edition, states}) => {
        const year = /\d{4}/.exec(edition)?.[0] ?? "";
        const named = name.includes(year) ? name : `${name}, ${year}`;
        return {value: id, name: states ? `${named} (${states.join(", ")})` : named};
      }),
    },
    {kind: "text", label: "State", path: ["rates", "state"], usual: "two letters"},
    ...(groups
      ? [
          {
            kind: "choice" as const,
            label: "Soil group",
            path: ["rates", "soilGroup"],
            tall: true,
            choices: [{value: undefined, name: "not said"}, ...groups.map((name) => ({value: name, name}))],
          },
        ]
      : []),
  ];
}

const LIME: readonly SettingOf[] = [
  {
    kind: "choice",
    label: "Method",
    path: ["lime", "method"],
    choices: [
      {value: "e-2567", name: "Bulletin E-2567"},
      {value: "pennsylvania", name: "Pennsylvania"},
      {value: "north-carolina", name: "North Carolina"},
    ],
  },
  {kind: "number", label: "Target pH", path: ["lime", "targetPh"]},
  {kind: "text", label: "Depth worked in", path: ["lime", "depth"], usual: "the method's"},
  {
    kind: "choice",
    label: "Rate files",
    path: ["machine", "lime"],
    choices: [
      {value: undefined, name: "amounts only"},
      {value: {}, name: "of lime too"},
    ],
  },
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
      {value: "leave out", name: "leave its plan out"},
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
  {
    kind: "choice",
    label: "Products",
    path: ["rates", "blend"],
    choices: [
      {value: undefined, name: "each for its own nutrient"},
      {value: true, name: "mixed at least cost"},
    ],
  },
  {kind: "number", label: "CEC of the field", path: ["rates", "cec"], usual: "from the lab", hint: "meq/100 g"},
  {kind: "text", label: "Swath", path: ["machine", "swath"], usual: "100 ft"},
  {kind: "text", label: "Speed", path: ["machine", "speed"], usual: "15 mph"},
  {kind: "text", label: "Join rates within", path: ["machine", "merge", "within"], usual: "only equal ones"},
  {kind: "number", label: "Most different rates", path: ["machine", "levels"], usual: "any"},
  {kind: "text", label: "Spreader holds", path: ["machine", "load"], usual: "not said"},
  {kind: "text", label: "Rate outside", path: ["machine", "outside"], usual: "0 lb/ac"},
];

/** Crops, guide, products and the machine. Without a crop no guide has anything to say, so crops come first. */
export function RatesStation() {
  useEffect(loadGuides, []);
  const named = read(page.value?.job, ["rates", "crops"]) !== undefined;
  return (
    <>
      <Rows
        title="Crops this application serves"
        one="crop"
        path={["rates", "crops"]}
        columns={[
          {
            key: "crop",
            label: "Crop",
            placeholder: "corn",
            suggestions: guideOfJob()?.crops.map(({id}) => id),
            width: "50%",
          },
          {key: "yieldGoal", label: "Yield goal", placeholder: "195 bu/ac", width: "50%", unit: unitOfGoal},
        ]}
        needed={["crop", "yieldGoal"]}
      />
      {named ? (
        <Settings of={guideSettings()} />
      ) : (
        <p class="note">Name the first crop and its goal; guide and state are chosen then.</p>
      )}
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
        follow={(row, key) => (key === "analysis" ? {...row, ...nutrientOf(String(row.analysis))} : row)}
      />
      <Lime />
      <fieldset>
        <legend>Machine</legend>
        <Settings of={MACHINE} />
      </fieldset>
      <ToGround kind="setback" />
      <More of={MORE} sections={["rates", "products", "lime", "machine", "setbacks"]} />
    </>
  );
}

/** As the guide takes the crop of a row; not known of a crop that is not named or not the guide's. */
function unitOfGoal({crop}: Readonly<Record<string, unknown>>): string | undefined {
  return guideOfJob()?.crops.find(({id}) => id === crop)?.yieldUnit;
}

/** Lime goes by a method of its own, once it is asked for. */
function Lime() {
  const limed = read(page.value?.job, ["lime"]) !== undefined;
  const put = (lime: unknown) => void saveJob((job) => write(job, ["lime"], lime));
  return (
    <fieldset>
      <legend>Lime</legend>
      {limed && <Settings of={LIME} />}
      <div>
        <button type="button" class="plain" onClick={() => put(limed ? undefined : {method: "e-2567", targetPh: 6.5})}>
          {limed ? "take lime out" : "+ work lime out too"}
        </button>
      </div>
    </fieldset>
  );
}
