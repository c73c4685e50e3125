import {computed, signal} from "@preact/signals";
import type {Strategy} from "../api/types.ts";
import {coresOf} from "../hands/cores/moves.ts";
import {atHand} from "../map/at-hand.ts";
import {page, result} from "../state/field.ts";
import {openMaps} from "../state/maps.ts";
import {enlarged, selection} from "../state/view.ts";
import {say} from "../units/shown.ts";
import {type LonLat, sayWay, type Way, wayTo} from "./way-to.ts";

/** Where the device is, while it is asked for. */
export const locating = signal<{readonly lon: number; readonly lat: number; readonly accuracy: number} | undefined>(
  undefined,
);
/** From a corner of the field. */
const NEAR_M = 1000;
const refusal = signal("");
/** Of the device's watch, while it is on. */
const watch = signal<number | undefined>(undefined);

/** The core to walk to: the nearest of the chosen bag, or else of the plan that is looked at. */
export const nearest = computed((): {readonly name: string; readonly way: Way} | undefined => {
  const here = locating.value;
  if (!here) return undefined;
  const {strategy, unit} = selection.value ?? {};
  const plans = (result.value?.strategies ?? []).map((card) => card.strategy);
  const plan: Strategy | undefined = strategy ?? enlarged.value ?? (plans.includes("grid") ? "grid" : plans[0]);
  const all = plan ? coresOf(plan) : [];
  const own = all.filter(({bag}) => bag === unit);
  const chosen = own.length > 0;
  let best: {name: string; way: Way} | undefined;
  for (const {id, bag, at} of chosen ? own : all) {
    const way = wayTo(here, {lon: at[0], lat: at[1]});
    if (best && way.metres >= best.way.metres) continue;
    best = {name: chosen ? bag : `nearest core, ${id}`, way};
  }
  return best;
});

/** Shows where the person with the device stands, and the way to the chosen bag, for walking to cores. */
export function WhereAmI() {
  if (!("geolocation" in navigator)) return null;
  const on = locating.value;
  const to = nearest.value;
  return (
    <>
      <button type="button" class="plain where" aria-pressed={watch.value !== undefined} onClick={toggle}>
        {watch.value === undefined ? "where am I" : "hide where I am"}
      </button>
      <span class="small soft you" role="status">
        {on ? (
          <>
            <svg width="18" height="18" aria-hidden="true">
              <circle class="halo" cx="9" cy="9" r="8" />
              <circle class="dot" cx="9" cy="9" r="5" />
            </svg>
            you are here, within {say(on.accuracy, "m")}. {refusal.value}
          </>
        ) : (
          refusal.value
        )}
      </span>
      {to && (
        <span class="figures way">
          <b>{to.name}</b>: {sayWay(to.way)}
        </span>
      )}
    </>
  );
}

function toggle(): void {
  if (watch.value !== undefined) {
    stop("");
    return;
  }
  refusal.value = "asking the device…";
  watch.value = navigator.geolocation.watchPosition(
    ({coords}) => {
      refusal.value = "";
      const next = {lon: coords.longitude, lat: coords.latitude, accuracy: coords.accuracy};
      follow(locating.value, next);
      locating.value = next;
    },
    ({code}) => {
      // A device that is at a loss for a moment goes on looking.
      if (code === 1) stop("The browser may not tell: allow location for this page.");
      else refusal.value = "The device does not know just now; it goes on looking.";
    },
    {enableHighAccuracy: true},
  );
}

/** Keeps who walks out of the map in it; who looks elsewhere, draws, or is far from the field is left to it. */
function follow(before: LonLat | undefined, now: LonLat): void {
  const gl = (openMaps.value.get(enlarged.value ?? "grid") ?? [...openMaps.value.values()][0])?.gl;
  const corners = page.value?.card.outline.flat(2) ?? [];
  if (!gl || atHand.value || !corners.some(([lon = 0, lat = 0]) => wayTo(now, {lon, lat}).metres < NEAR_M)) return;
  const inView = ({lon, lat}: LonLat): boolean => gl.getBounds().contains([lon, lat]);
  if ((!before || inView(before)) && !inView(now)) gl.jumpTo({center: [now.lon, now.lat]});
}

function stop(why: string): void {
  if (watch.value !== undefined) navigator.geolocation.clearWatch(watch.value);
  watch.value = undefined;
  locating.value = undefined;
  refusal.value = why;
}
