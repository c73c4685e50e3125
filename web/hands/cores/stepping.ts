import {computed, effect, signal} from "@preact/signals";
import type {Strategy} from "../../api/types.ts";
import {fresh, page} from "../../state/field.ts";
import {pointedAt, show} from "../../state/view.ts";
import {coresOf, type SeenCore} from "./moves.ts";
import {type Offset, placeAt} from "./steps.ts";

/** A core that is moved step by step: which, and how far from where it lies. */
export interface Stepping {
  readonly strategy: Strategy;
  readonly id: string;
  readonly by: Offset;
}

export const stepping = signal<Stepping | undefined>(undefined);

/** The core as it lies, and where it would go; undefined where the plan no longer has it. */
export const steppedTo = computed(() => {
  const now = stepping.value;
  const core = now && coresOf(now.strategy).find(({id}) => id === now.id);
  return core && {core, to: placeAt(core.at, now.by)};
});

/** The ring on the maps stands where the core would go; what is worked out anew ends the stepping. */
effect(() => {
  const place = steppedTo.value?.to;
  if (place) pointedAt.value = {lon: place[0], lat: place[1]};
});
effect(() => {
  page.value?.card.id;
  if (!fresh.value) leaveStepping();
});

/** Takes a core up; the plan and the bar over the maps come into sight. */
export function stepCore(strategy: Strategy, {id}: SeenCore): void {
  show.value = "plan";
  stepping.value = {strategy, id, by: {east: 0, north: 0}};
  document.getElementById("maps")?.scrollIntoView({block: "start"});
}

export function leaveStepping(): void {
  if (!stepping.peek()) return;
  stepping.value = undefined;
  pointedAt.value = undefined;
}
