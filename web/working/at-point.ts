import {signal} from "@preact/signals";
import {ask} from "../api/client.ts";
import type {AtPoint} from "../api/types.ts";

/** Everything known of the place that was clicked; absent while it is asked for. */
export const ground = signal<AtPoint | undefined>(undefined);
let latest = 0;

export async function lookAt(resultId: string, lon: number, lat: number): Promise<void> {
  latest += 1;
  const mine = latest;
  ground.value = undefined;
  const path = `/api/results/${encodeURIComponent(resultId)}/at?lon=${lon}&lat=${lat}`;
  const found = await ask<AtPoint>(path).catch(() => undefined);
  if (mine === latest) ground.value = found;
}
