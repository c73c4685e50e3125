import {GroundLegend} from "../hands/ground/ground-legend.tsx";
import {legendOf, NUTRIENT_NAMES, nutrientsOf, productsOf} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {enlarged, layerId, productIndex, type Show, show} from "../state/view.ts";
import {Legend} from "./legend.tsx";
import {wanted} from "./three-maps.tsx";

const SHOWS: readonly {readonly show: Show; readonly name: string}[] = [
  {show: "layer", name: "layer"},
  {show: "zones", name: "zones"},
  {show: "plan", name: "plan"},
  {show: "test", name: "soil test"},
  {show: "rate", name: "rate"},
  {show: "difference", name: "difference"},
];

/** The heading of the maps, what they show, and the legend. */
export function OverMaps() {
  const now = wanted.value;
  // Of the plans only that of the zones has their ground beneath.
  const hasNoZones = show.value === "plan" && enlarged.value !== undefined && enlarged.value !== "zone";
  const legend = now && !hasNoZones ? legendOf(now) : undefined;
  return (
    <div class="over-maps">
      <h1>{headingOf()}</h1>
      <span class="spacer" />
      <fieldset class="switch no-print">
        <legend class="unseen">What the maps show</legend>
        {SHOWS.map(({show: value, name}) => (
          <label key={value}>
            <input
              type="radio"
              name="show"
              value={value}
              checked={show.value === value}
              onChange={() => {
                show.value = value;
              }}
            />
            {name}
          </label>
        ))}
      </fieldset>
      {legend && <Legend legend={legend} />}
      <GroundLegend />
      <Which />
    </div>
  );
}

function headingOf(): string {
  const now = wanted.value;
  const of = now?.product ? (NUTRIENT_NAMES[now.product.purpose] ?? now.product.analysis) : undefined;
  const tested = now?.nutrient && (NUTRIENT_NAMES[now.nutrient] ?? now.nutrient);
  switch (show.value) {
    case "layer":
      return now?.layer?.label ?? "Layers";
    case "zones":
      return "Zones under three plans";
    case "plan":
      return "Where to sample, three ways";
    case "test":
      return tested ? `${tested} soil tests, three ways` : "Soil tests, three ways";
    case "rate":
      return `${of ?? "Rates"}, three ways`;
    case "difference":
      return of ? `${of}, where the rates part` : "Where the rates part";
  }
}

/** Which layer, or which product. */
function Which() {
  const found = result.value;
  if (!found) return null;
  if (show.value === "layer") {
    return (
      <select
        aria-label="Layer"
        value={wanted.value?.layer?.id ?? ""}
        onChange={({currentTarget}) => {
          layerId.value = currentTarget.value;
        }}
      >
        {found.layers.map(({id, label}) => (
          <option key={id} value={id}>
            {label}
          </option>
        ))}
      </select>
    );
  }
  const products = productsOf(found);
  if (products.length === 0 && show.value === "test") return <WhichNutrient nutrients={nutrientsOf(found)} />;
  if (products.length < 2 || show.value === "zones" || show.value === "plan") return null;
  return (
    <select
      aria-label="Product"
      value={String(productIndex.value)}
      onChange={({currentTarget}) => {
        productIndex.value = Number(currentTarget.value);
      }}
    >
      {products.map(({code, analysis, purpose}, i) => (
        <option key={code} value={String(i)}>
          {NUTRIENT_NAMES[purpose] ?? purpose}, {analysis}
        </option>
      ))}
    </select>
  );
}

/** Before there are products: whose soil tests. */
function WhichNutrient({nutrients}: {readonly nutrients: readonly string[]}) {
  if (nutrients.length < 2) return null;
  return (
    <select
      aria-label="Nutrient"
      value={wanted.value?.nutrient}
      onChange={({currentTarget}) => {
        productIndex.value = nutrients.indexOf(currentTarget.value);
      }}
    >
      {nutrients.map((nutrient) => (
        <option key={nutrient} value={nutrient}>
          {NUTRIENT_NAMES[nutrient] ?? nutrient}
        </option>
      ))}
    </select>
  );
}
