import {effect, signal} from "@preact/signals";
import type {Geometry, MultiPolygon} from "geojson";
import {api, got, problemOf, upload} from "../../api/client.ts";
import type {ApiProblem, AttachAs, GroundKind} from "../../api/types.ts";
import type {DrawMode} from "../../map/at-hand.ts";
import {change, fieldId, page} from "../../state/field.ts";
import {side} from "../../state/view.ts";
import {type Entry, entriesIn, nameOf, settingsOf} from "./grounds.ts";
import {drawOnMap} from "./on-map.ts";

/** Ground that is drawn and not yet kept: its name and distance are being asked. */
export interface Draft {
  /** Id of the field it is drawn on. */
  readonly field: string;
  readonly kind: GroundKind;
  readonly geometry: Geometry;
  /** The entry whose place it takes. */
  readonly at?: number;
  readonly settings: Entry;
}

export const draft = signal<Draft | undefined>(undefined);

/** Another field is opened, or none. */
effect(() => {
  if (fieldId.value !== draft.peek()?.field) draft.value = undefined;
});

const SAYS: Readonly<Record<GroundKind, string>> = {
  "keep-out": "Ground where no core is taken.",
  setback: "Water, a well or other ground that less is spread by.",
};

/** Draws a keep-out or setback, or one of them again; what it is called is asked when it is drawn. */
export function drawGround(kind: GroundKind, mode: DrawMode, at?: number): void {
  const before = at === undefined ? undefined : entriesIn(page.peek()?.job, kind)[at];
  draft.value = undefined;
  void drawOnMap(mode, {
    says: before ? `${nameOf(before)}, drawn again.` : SAYS[kind],
    snapTo: edgeOfField(),
    finish: (geometry) => {
      const field = page.peek()?.card.id;
      if (field === undefined) return;
      draft.value = {field, kind, geometry, ...(at !== undefined && {at}), settings: before ? settingsOf(before) : {}};
      side.value = "ground";
    },
  });
}

export const edgeOfField = (): Geometry[] => {
  const outline = page.peek()?.card.outline as unknown as MultiPolygon["coordinates"] | undefined;
  return outline ? [{type: "MultiPolygon", coordinates: outline}] : [];
};

/** Puts the drawn ground into the book and the job. Resolves to what was wrong with it, if anything; it is then still drawn. */
export async function keepDraft({kind, geometry, at}: Draft, settings: Entry): Promise<ApiProblem | undefined> {
  const problem = await attachShape(fileFor(kind, settings), geometry, kind, settings, at);
  if (!problem) draft.value = undefined;
  return problem;
}

/** The file that ground is drawn into. */
export const fileFor = (kind: GroundKind, settings: Entry): string =>
  `${kind} ${nameOf({file: "drawn", ...settings})}.geojson`;

/** Sends a drawn shape in as a file of the field and attaches it. */
export async function attachShape(
  name: string,
  geometry: Geometry,
  as: AttachAs,
  settings: Entry,
  at?: number,
): Promise<ApiProblem | undefined> {
  const text = JSON.stringify({type: "Feature", properties: {drawn: as, ...nameIn(settings)}, geometry});
  try {
    const {id: source} = await upload(new File([text], asFileName(name), {type: "application/geo+json"}));
    const json = {source, as, settings, ...(at !== undefined && {at})};
    return await change((id) => got(api.fields[":id"].attach.$post({param: {id}, json})));
  } catch (error) {
    return problemOf(error);
  }
}

const nameIn = ({name}: Entry): Entry => (name === undefined ? {} : {name});

/** Without what the name of a file may not hold. */
const asFileName = (name: string): string =>
  name
    .replace(/[\\/:]|[\p{Cc}\p{Cf}\p{Cs}]/gu, " ")
    .replace(/\s+/g, " ")
    .slice(0, 150);
