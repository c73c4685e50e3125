import {signal} from "@preact/signals";
import {api, got} from "../api/client.ts";
import type {AtPoint} from "../api/types.ts";

/** Everything known of the place that was clicked; absent while it is asked for. */
export const ground = signal<AtPoint | undefined>(undefined);
let latest = 0;

export async function lookAt(resultId: string, lon: number, lat: number): Promise<void> {
  latest += 1;
  const mine = latest;
  ground.value = undefined;
  const query = {lon: String(lon), lat: String(lat)};
  const found = await got(api.results[":id"].at.$get({param: {id: resultId}, query})).catch(() => undefined);
  if (mine === latest) ground.value = found;
}
