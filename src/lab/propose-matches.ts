import {checkCharacter, hasGoodCheck} from "../units/check-character.ts";
import {idKey} from "./sample-id.ts";

/** A guess at which planned sample an unknown id of the report is. Never applied unless accepted. */
export interface ProposedMatch {
  readonly reportId: string;
  readonly unitId: string;
  readonly why: string;
}

/**
 * For every id of a report that is in no plan, the one planned sample without results that it can be, if there is just
 * one. Order of rows is never looked at.
 *
 * An id is proposed when it differs only in spaces, hyphens and leading zeros, in letters that look like digits, or in
 * its check character left out or added; and where all planned ids end in check characters, when one wrong character or
 * two swapped neighbours explain why the check failed.
 *
 * @param reportIds - All ids of the report. @param unitIds - Ids of the plan.
 */
export function proposeMatches(reportIds: readonly string[], unitIds: readonly string[]): readonly ProposedMatch[] {
  const reported = new Set(reportIds.map(idKey));
  const planned = new Set(unitIds.map(idKey));
  const missing = unitIds.filter((id) => !reported.has(idKey(id)));
  const guarded = unitIds.length > 0 && unitIds.every((id) => hasGoodCheck(id));
  const unknown = [...new Map(reportIds.map((id) => [idKey(id), id])).values()].filter((id) => !planned.has(idKey(id)));
  const proposals = unknown.flatMap((reportId) => {
    for (const {why, fits} of REASONS) {
      if (!fits.guardedOnly || guarded) {
        const candidates = missing.filter((unitId) => fits.test(reportId, unitId));
        if (candidates.length === 1) return [{reportId, unitId: candidates[0] as string, why}];
        if (candidates.length > 1) return [];
      }
    }
    return [];
  });
  // Two ids cannot both be one sample.
  return proposals.filter(({unitId}) => proposals.filter((other) => other.unitId === unitId).length === 1);
}

interface Likeness {
  readonly guardedOnly?: boolean;
  readonly test: (reportId: string, unitId: string) => boolean;
}

const REASONS: readonly {readonly why: string; readonly fits: Likeness}[] = [
  {why: "the same but for spaces, hyphens and leading zeros", fits: {test: (a, b) => bare(a) === bare(b)}},
  {why: "the same but for letters that look like digits", fits: {test: (a, b) => clear(a) === clear(b)}},
  {
    why: "the same with its check character",
    fits: {test: (a, b) => closed(a) === plain(b) || plain(a) === closed(b)},
  },
  {
    why: "its check character fails, and one slip of the pen explains it",
    fits: {guardedOnly: true, test: (a, b) => !hasGoodCheck(a) && oneSlip(plain(a), plain(b))},
  },
];

const plain = (id: string): string => idKey(id).replaceAll(/[\s_-]/g, "");
const bare = (id: string): string =>
  idKey(id)
    .replaceAll(/(^|\D)0+(?=\d)/g, "$1")
    .replaceAll(/[\s_-]/g, "");
const clear = (id: string): string => bare(idKey(id).replaceAll("O", "0").replaceAll(/[IL]/g, "1"));
const closed = (id: string): string => plain(id) + (checkCharacter(plain(id)) ?? "?");

/** One character differs, or two neighbours are swapped. */
function oneSlip(a: string, b: string): boolean {
  if (a.length !== b.length) return false;
  const places = [...a].flatMap((character, i) => (character === b[i] ? [] : [i]));
  const [i = 0, j = 0] = places;
  return places.length === 1 || (places.length === 2 && j === i + 1 && a[i] === b[j] && a[j] === b[i]);
}
