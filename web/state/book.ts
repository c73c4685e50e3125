import {signal} from "@preact/signals";
import {NO_SERVER} from "../api/away.ts";
import {api, got, problemOf} from "../api/client.ts";
import type {ApiProblem, FieldCard, FieldPage, NewFieldRequest, Session} from "../api/types.ts";
import {route} from "./route.ts";

/** The fields of the book; absent until the server has answered. */
export const fields = signal<readonly FieldCard[] | undefined>(undefined);
export const bookProblem = signal<ApiProblem | undefined>(undefined);
export const session = signal<Session | undefined>(undefined);

/** How often the book is looked at again while fields in it are being worked out. */
const AGAIN_MS = 700;
let again: ReturnType<typeof setTimeout> | undefined;

export async function loadBook(): Promise<void> {
  clearTimeout(again);
  try {
    // What the book is called, and what it waits for, is known before its fields are.
    const about = got(api.session.$get()).then((found) => {
      session.value = found;
    });
    const [cards] = await Promise.all([got(api.fields.$get()), about]);
    fields.value = cards;
    bookProblem.value = undefined;
    if (cards.some(({working}) => working !== undefined)) again = setTimeout(lookAgain, AGAIN_MS);
  } catch (error) {
    const found = problemOf(error);
    bookProblem.value = found.code === NO_SERVER ? undefined : found;
  }
}

function lookAgain(): void {
  if (route.value.page === "book") void loadBook();
}

export function makeField(wanted: NewFieldRequest): Promise<FieldPage> {
  return got(api.fields.$post({json: wanted}));
}
