import {computed} from "@preact/signals";
import {useEffect} from "preact/hooks";
import type {FieldPage, Strategy} from "../api/types.ts";
import {CoreBar} from "../hands/cores/core-bar.tsx";
import {DrawingProblem} from "../hands/ground/problem-over-maps.tsx";
import {atHand} from "../map/at-hand.ts";
import {HandBar} from "../map/hand-bar.tsx";
import {nutrientsOf, productsOf, type Wanted} from "../map/scenes.ts";
import {TileCredit} from "../preferences/tile-credit.tsx";
import {result} from "../state/field.ts";
import {enlarged, layerId, productIndex, show} from "../state/view.ts";
import {FindBag} from "./find-bag.tsx";
import {MapPanel} from "./map-panel.tsx";
import {fitAgain, fitAll} from "./move-together.ts";
import {WhereAmI} from "./where-am-i.tsx";

const ORDER: readonly Strategy[] = ["whole-field", "grid", "zone"];

/** What all three maps show. */
export const wanted = computed((): Wanted | undefined => {
  const found = result.value;
  if (!found) return undefined;
  const products = productsOf(found);
  const nutrients = nutrientsOf(found);
  return {
    result: found,
    show: show.value,
    product: products[productIndex.value] ?? products[0],
    nutrient: nutrients[productIndex.value] ?? nutrients[0],
    layer: found.layers.find(({id}) => id === layerId.value) ?? found.layers[0],
  };
});

/** The strategies of the job, in one order everywhere. */
export const strategies = computed(() => {
  const present = result.value?.strategies.map(({strategy}) => strategy);
  return present && present.length > 0 ? ORDER.filter((strategy) => present.includes(strategy)) : ORDER;
});

export function ThreeMaps({page}: {readonly page: FieldPage}) {
  const large = enlarged.value;
  useEffect(() => {
    requestAnimationFrame(fitAll);
  }, [large]);
  useEffect(() => {
    addEventListener("resize", fitAgain);
    return () => removeEventListener("resize", fitAgain);
  }, []);
  const count = strategies.value.length;
  const shape = large ? "one" : count === 1 ? "one" : count === 2 ? "two" : "";
  return (
    <div class="maps">
      <DrawingProblem />
      <CoreBar />
      {atHand.value && <HandBar hand={atHand.value} />}
      <div class={`three ${shape}`}>
        {strategies.value.map((strategy) => (
          <MapPanel
            key={`${page.card.id}/${strategy}`}
            strategy={strategy}
            page={page}
            large={large === strategy || count === 1}
          />
        ))}
      </div>
      <div class="beneath no-print">
        <button type="button" class="plain" onClick={fitAll}>
          whole field in view
        </button>
        <FindBag />
        <WhereAmI />
        <span class="spacer" />
        <span class="small soft hint">
          drag and scroll: all move together; click{" "}
          {show.value === "zones" ? "a zone to change it" : "a unit for its working"}
        </span>
      </div>
      <TileCredit />
    </div>
  );
}
