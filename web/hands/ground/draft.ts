import {effect, signal} from "@preact/signals";
import type {Geometry} from "geojson";
import {api, got, problemOf, Refusal, upload} from "../../api/client.ts";
import type {ApiProblem, AttachAs, FieldPage, GroundKind} from "../../api/types.ts";
import type {DrawMode} from "../../map/at-hand.ts";
import {change, fieldId, page, versionOf} from "../../state/field.ts";
import {side} from "../../state/view.ts";
import {type Entry, entriesIn, nameOf, settingsOf} from "./grounds.ts";
import {drawOnMap} from "./on-map.ts";
import {multiPolygon, type Parts} from "./parts.ts";

/** Ground that is drawn and not yet kept: its name and distance are being asked. */
export interface Draft {
  /** Id of the field it is drawn on. */
  readonly field: string;
  readonly kind: GroundKind;
  readonly geometry: Geometry;
  /** The entry whose place it takes. */
  readonly before?: Entry;
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
export function drawGround(kind: GroundKind, mode: DrawMode, before?: Entry): void {
  draft.value = undefined;
  void drawOnMap(mode, {
    says: before ? `${nameOf(before)}, drawn again.` : SAYS[kind],
    snapTo: edgeOfField(),
    finish: (geometry) => {
      const field = page.peek()?.card.id;
      if (field === undefined) return;
      draft.value = {field, kind, geometry, ...(before && {before}), settings: before ? settingsOf(before) : {}};
      side.value = "ground";
    },
  });
}

export const edgeOfField = (): Geometry[] => {
  const outline = page.peek()?.card.outline as unknown as Parts | undefined;
  return outline ? [multiPolygon(outline)] : [];
};

/** Puts the drawn ground into the book and the job. Resolves to what was wrong with it, if anything; it is then still drawn. */
export async function keepDraft({kind, geometry, before}: Draft, settings: Entry): Promise<ApiProblem | undefined> {
  const problem = await attachShape(fileFor(kind, settings), geometry, kind, settings, before);
  if (!problem) draft.value = undefined;
  return problem;
}

/** The file that ground is drawn into. */
export const fileFor = (kind: GroundKind, settings: Entry): string =>
  `${kind} ${nameOf({file: "drawn", ...settings})}.geojson`;

/**
 * Sends a drawn shape in as a file of the field and attaches it.
 *
 * @param before - The entry whose place it takes, wherever it stands by now; one that was changed elsewhere is left alone.
 */
export async function attachShape(
  name: string,
  geometry: Geometry,
  as: AttachAs,
  settings: Entry,
  before?: Entry,
): Promise<ApiProblem | undefined> {
  const text = JSON.stringify({type: "Feature", properties: {drawn: as, ...nameIn(settings)}, geometry});
  try {
    const {id: source} = await upload(new File([text], asFileName(name), {type: "application/geo+json"}));
    return await change((id) => {
      const seen = page.peek();
      const at = before && placeOf(before, as as GroundKind, seen?.job);
      const json = {source, as, settings, ...(at !== undefined && {at})};
      // One more is no matter of what others do; what takes the place of something is.
      const replaces = before !== undefined || as === "boundary";
      return got(api.fields[":id"].attach.$post({param: {id}, header: versionOf(replaces ? seen : undefined), json}));
    });
  } catch (error) {
    return problemOf(error);
  }
}

/** @throws {Refusal} when it is not there as it was. */
function placeOf(entry: Entry, kind: GroundKind, job: FieldPage["job"] | undefined): number {
  const as = JSON.stringify(entry);
  const at = entriesIn(job, kind).findIndex((one) => JSON.stringify(one) === as);
  if (at >= 0) return at;
  throw new Refusal({
    code: "bench/ground-changed",
    message: `${nameOf(entry)} was changed or taken out elsewhere while it was drawn.`,
    hint: "Give the drawing up and begin with what is there now, or draw it as one more.",
  });
}

const nameIn = ({name}: Entry): Entry => (name === undefined ? {} : {name});

/** Without what the name of a file may not hold. */
const asFileName = (name: string): string =>
  name
    .replace(/[\\/:]|[\p{Cc}\p{Cf}\p{Cs}]/gu, " ")
    .replace(/\s+/g, " ")
    .slice(0, 150);
