import {focusOn} from "../parts/focus.ts";
import {openStation} from "../state/view.ts";

/** Leads to what the crew carries. */
export function openSheets(): void {
  openStation("hand-over");
  focusOn(["#sheets", "#side h2"], {preventScroll: true});
  requestAnimationFrame(() => document.getElementById("sheets")?.scrollIntoView({block: "start"}));
}
