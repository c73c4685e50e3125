import {signal} from "@preact/signals";
import type {Station, Strategy} from "../api/types.ts";
import {focusOn} from "../parts/focus.ts";

/** What the three maps show. */
export type Show = "layer" | "zones" | "plan" | "test" | "rate" | "difference";

export const show = signal<Show>("rate");
/** Of the products, layers and nutrients on show; out of range means the first. */
export const productIndex = signal(0);
export const layerId = signal<string | undefined>(undefined);
export const enlarged = signal<Strategy | undefined>(undefined);

export interface Selection {
  readonly strategy: Strategy;
  readonly unit?: string;
  readonly lon?: number;
  readonly lat?: number;
}

export const selection = signal<Selection | undefined>(undefined);

/** The zone that is to be changed by hand, by its number on the map on show. */
export const chosenZone = signal<number | undefined>(undefined);
/** Where a zone is asked for: the next one clicked goes there instead. */
export const askForZone = signal<((zone: number) => void) | undefined>(undefined);

/** A zone was clicked on a map of zones. */
export function chooseZone(zone: number): void {
  if (askForZone.value) {
    askForZone.value(zone);
    return;
  }
  chosenZone.value = zone;
  openStation("zones");
}

/** What the right-hand side shows. */
export type Side = Station | "working" | "ground" | "files" | "remarks";
export const side = signal<Side>("rates");

/** A place to look at, as that of a remark. */
export const pointedAt = signal<{readonly lon: number; readonly lat: number} | undefined>(undefined);

export function select(next: Selection): void {
  selection.value = next;
  side.value = "working";
  // Who taps a map, or walks a plan, wants to stay on it: a line under the map leads on to the working.
  if (next.lon === undefined && show.value !== "plan") bringSideIntoView();
}

export function clearSelection(): void {
  selection.value = undefined;
  chosenZone.value = undefined;
  askForZone.value = undefined;
  pointedAt.value = undefined;
  enlarged.value = undefined;
  side.value = "rates";
  show.value = "rate";
  waitedFor = undefined;
}

/** Before there are rates the plans are what there is to see; when they come, they are what was waited for. */
export function showRatesIf(there: boolean): void {
  if (there) {
    if (waitedFor && show.value === "plan") show.value = waitedFor;
    waitedFor = undefined;
  } else if (show.value === "rate" || show.value === "difference") {
    waitedFor = show.value;
    show.value = "plan";
  }
}

let waitedFor: Show | undefined;

const SHOWN_AT: Partial<Record<Side, Show>> = {
  layers: "layer",
  zones: "zones",
  plan: "plan",
  lab: "test",
  rates: "rate",
};

/** The side of a field that was just opened; where files are wanted, they come first. */
export function beginAt(next: Station): void {
  side.value = next === "layers" ? "files" : next;
}

/** Opens a station; the maps turn to what it is about. */
export function openStation(station: Side): void {
  side.value = station;
  const wanted = SHOWN_AT[station];
  if (wanted) {
    show.value = wanted;
    waitedFor = undefined;
  }
  bringSideIntoView();
  focusOn(["#side h2", "#side"], {preventScroll: innerWidth <= ONE_COLUMN_PX});
}

/** Back from the side to the stop of the itinerary that it belongs to. */
export function leaveSide(): void {
  focusOn(["nav.itinerary [aria-current=step]", "#maps"]);
}

/** On narrow screens the side lies under the maps. */
function bringSideIntoView(): void {
  if (innerWidth <= ONE_COLUMN_PX)
    document.getElementById("side")?.scrollIntoView({behavior: "smooth", block: "start"});
}

/** As in the style sheet. */
const ONE_COLUMN_PX = 1100;
