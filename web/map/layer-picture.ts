import {signal} from "@preact/signals";
import type {Position} from "geojson";
import {api} from "../api/client.ts";
import type {LayerCard} from "../api/types.ts";
import type {Picture} from "./scene.ts";

const pictures = signal<ReadonlyMap<string, Picture>>(new Map());
const asked = new Set<string>();

const RAMPS = {yield: "blue", terrain: "grey", soil: "ochre", sensed: "ochre"} as const;

/** The layer as a picture with its corners; absent until it has come. */
export function pictureOf(resultId: string, layer: LayerCard): Picture | undefined {
  const ramp = RAMPS[layer.theme];
  const param = {id: resultId, picture: `${layer.id}.png`};
  const path = api.results[":id"].layers[":picture{.+\\.png}"].$path({param, query: {ramp}});
  const found = pictures.value.get(path);
  if (found || asked.has(path)) return found;
  asked.add(path);
  void fetchPicture(path).then((picture) => {
    if (picture) pictures.value = new Map(pictures.value).set(path, picture);
  });
  return undefined;
}

/** Asks where the picture lies; the map itself fetches it. */
async function fetchPicture(path: string): Promise<Picture | undefined> {
  const response = await fetch(path, {method: "HEAD"}).catch(() => undefined);
  if (!response?.ok) return undefined;
  const numbers = (response.headers.get("x-corners") ?? "").match(/-?\d+(\.\d+)?(e-?\d+)?/g)?.map(Number) ?? [];
  if (numbers.length < 8) return undefined;
  const corners = [0, 2, 4, 6].map((i): Position => [numbers[i] as number, numbers[i + 1] as number]);
  const [a, b, c, d] = corners as [Position, Position, Position, Position];
  return {url: path, corners: [a, b, c, d]};
}
