import {signal} from "@preact/signals";

// What was read and taken at the hand-over, as long as the rates stay the same to the byte.

const state = signal<{readonly key: string; readonly read: boolean; readonly files: ReadonlySet<string>}>({
  key: "",
  read: false,
  files: new Set(),
});

const now = (key: string) => (state.value.key === key ? state.value : {key, read: false, files: new Set<string>()});

/** Whether the caution was acknowledged for these rates. */
export const cautionRead = (key: string): boolean => now(key).read;

export function readCaution(key: string, read: boolean): void {
  state.value = {...now(key), read};
}

/** Names of the files that were downloaded. */
export const takenFiles = (key: string): ReadonlySet<string> => now(key).files;

export function take(key: string, names: readonly string[]): void {
  const before = now(key);
  state.value = {...before, files: new Set([...before.files, ...names])};
}

/** After they were entered as handed over. */
export function forgetTaken(key: string): void {
  state.value = {...now(key), files: new Set()};
}
