import {signal} from "@preact/signals";
import {api, got, problemOf} from "../api/client.ts";
import type {ApiProblem, FieldCard, FieldPage, NewFieldRequest, Session} from "../api/types.ts";

/** The fields of the book; absent until the server has answered. */
export const fields = signal<readonly FieldCard[] | undefined>(undefined);
export const bookProblem = signal<ApiProblem | undefined>(undefined);
export const session = signal<Session | undefined>(undefined);

export async function loadBook(): Promise<void> {
  try {
    const [cards, about] = await Promise.all([got(api.fields.$get()), got(api.session.$get())]);
    fields.value = cards;
    session.value = about;
    bookProblem.value = undefined;
  } catch (error) {
    bookProblem.value = problemOf(error);
  }
}

export function makeField(wanted: NewFieldRequest): Promise<FieldPage> {
  return got(api.fields.$post({json: wanted}));
}
