import {signal} from "@preact/signals";
import {api, got, problemOf} from "../api/client.ts";
import type {ApiProblem, Preferences} from "../api/types.ts";
import {unitSystem} from "../units/shown.ts";

/** As the book has them; absent until the server has answered. */
export const preferences = signal<Preferences | undefined>(undefined);

let asked: Promise<void> | undefined;

/** Asks once; a page without an answer shows US units and no background. */
export function loadPreferences(): Promise<void> {
  asked ??= got(api.preferences.$get()).then(show, () => {
    asked = undefined;
  });
  return asked;
}

/** Resolves to what was wrong, if anything. Another source of tiles loads the page again: what it may load has changed. */
export async function savePreferences(wanted: Preferences): Promise<ApiProblem | undefined> {
  try {
    const before = preferences.value?.tiles?.template;
    const saved = await got(api.preferences.$put({json: wanted}));
    if (saved.tiles?.template !== before) location.reload();
    else show(saved);
    return undefined;
  } catch (error) {
    return problemOf(error);
  }
}

function show(saved: Preferences): void {
  preferences.value = saved;
  unitSystem.value = saved.units;
}
