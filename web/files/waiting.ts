import {signal} from "@preact/signals";
import {problemOf, Refusal, upload} from "../api/client.ts";
import type {ApiProblem, SourceCard} from "../api/types.ts";
import {answerAlike} from "./alike.ts";
import {bundled} from "./bundle.ts";
import {beginDraft, type Draft, openIn} from "./file-form.tsx";

/** A file that was dropped: being read, refused, or read and waiting to be told what it is for. */
export interface WaitingFile {
  readonly name: string;
  readonly card?: SourceCard;
  /** How it would be read; with a card. */
  readonly draft?: Draft;
  readonly problem?: ApiProblem;
}

export const waiting = signal<readonly WaitingFile[]>([]);

/** Hands files over to be recognised, one after the other; each has its place in the list at once. */
export async function receive(files: readonly File[]): Promise<void> {
  const whole = await bundled(files);
  waiting.value = [
    ...waiting.value.filter(({name}) => !whole.some((file) => file.name === name)),
    ...whole.map(({name}) => ({name})),
  ];
  for (const file of whole) {
    try {
      await checkReadable(file);
      const card = await upload(file);
      put({name: file.name, card, draft: draftOf(card)});
      answerAlike();
    } catch (error) {
      put({name: file.name, problem: problemOf(error)});
    }
  }
}

export function dismiss(name: string): void {
  waiting.value = waiting.value.filter((file) => file.name !== name);
}

export interface Ready extends WaitingFile {
  readonly card: SourceCard;
  readonly draft: Draft;
}

export const isRead = (file: WaitingFile): file is Ready => file.card !== undefined && file.draft !== undefined;

/** Those that could be attached as they were read; another boundary is never one that nobody looked at. */
export const inNeedOfNothing = (): readonly Ready[] =>
  waiting.value.filter(isRead).filter(({card, draft}) => draft.as.value !== "boundary" && openIn(card, draft) === "");

function draftOf(card: SourceCard): Draft {
  const as = card.looksLike[0];
  return beginDraft(as, (as && card.proposed[as]) ?? {});
}

/** A folder looks like a file until it is read. */
async function checkReadable(file: File): Promise<void> {
  try {
    await file.slice(0, 1).arrayBuffer();
  } catch {
    throw new Refusal({
      code: "file/unreadable",
      message: `${file.name} cannot be read: it is a folder, or it was moved away.`,
      hint: "Drop the files themselves.",
    });
  }
}

/** What was put away meanwhile stays away. */
function put(next: WaitingFile): void {
  waiting.value = waiting.value.map((file) => (file.name === next.name ? next : file));
}
