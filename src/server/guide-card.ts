import type {Guide} from "../recommend/guide.ts";
import type {GuideCard} from "./api-types.ts";

/** What is to be known of a guide to choose it: whom it is for, and what it has rules for. */
export function guideCard({id, cite, edition, states, crops, nutrients, soilGroups}: Guide): GuideCard {
  return {
    id,
    name: cite,
    edition,
    ...(states && {states}),
    crops: crops.map(({id: crop, yieldUnit}) => ({id: crop, yieldUnit})),
    nutrients: [...new Set(nutrients.map(({nutrient}) => nutrient))],
    ...(soilGroups && {soilGroups: soilGroups.names}),
  };
}
