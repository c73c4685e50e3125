import {effect, signal} from "@preact/signals";
import type {EvidenceCard, ResultCard} from "../api/types.ts";
import {result} from "../state/field.ts";

/** The last result that said how sure it is. */
const last = signal<ResultCard | undefined>(undefined);

effect(() => {
  if (result.value?.evidence) last.value = result.value;
});

export interface Judged {
  readonly evidence: EvidenceCard;
  /** True for what was found before the last change: it stays in sight, paler, until the next is known. */
  readonly old: boolean;
}

/** How sure a result is, or until that is worked out how sure the field's last one was. */
export function judgedOf(made: ResultCard): Judged | undefined {
  if (made.evidence) return {evidence: made.evidence, old: false};
  const before = last.value;
  return before?.evidence && before.field === made.field ? {evidence: before.evidence, old: true} : undefined;
}
