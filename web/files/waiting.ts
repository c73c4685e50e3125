import {signal} from "@preact/signals";
import {problemOf, upload} from "../api/client.ts";
import type {ApiProblem, SourceCard} from "../api/types.ts";

/** A file that was dropped: being read, refused, or read and waiting to be told what it is for. */
export interface WaitingFile {
  readonly name: string;
  readonly card?: SourceCard;
  readonly problem?: ApiProblem;
}

export const waiting = signal<readonly WaitingFile[]>([]);

/** Hands files over to be recognised, one after the other. */
export async function receive(files: readonly File[]): Promise<void> {
  for (const file of files) {
    replace(file.name, {name: file.name});
    try {
      replace(file.name, {name: file.name, card: await upload(file)});
    } catch (error) {
      replace(file.name, {name: file.name, problem: problemOf(error)});
    }
  }
}

export function dismiss(name: string): void {
  waiting.value = waiting.value.filter((file) => file.name !== name);
}

function replace(name: string, next: WaitingFile): void {
  waiting.value = [...waiting.value.filter((file) => file.name !== name), next];
}
