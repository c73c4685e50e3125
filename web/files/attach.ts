import {api, got} from "../api/client.ts";
import type {ApiProblem, AttachAs, SourceCard} from "../api/types.ts";
import {change, page, versionOf} from "../state/field.ts";
import type {Settings} from "./answers.ts";

/**
 * Puts a file where the job wants it, or changes how one that is there is read. Resolves to what was wrong, if anything.
 *
 * @param at - Of several keep-outs or setbacks the one whose place it takes.
 */
export function attach(
  card: SourceCard,
  as: AttachAs,
  settings: Settings,
  at?: number,
): Promise<ApiProblem | undefined> {
  const json = {source: card.id, as, settings, ...(at !== undefined && {at})};
  const seen = at === undefined ? undefined : page.peek();
  return change((id) => got(api.fields[":id"].attach.$post({param: {id}, header: versionOf(seen), json})));
}

/** Takes a file out of the job, wherever it stands; undo brings it back. */
export function detach(card: SourceCard): Promise<ApiProblem | undefined> {
  return change((id) => got(api.fields[":id"].detach.$post({param: {id}, json: {source: card.id}})));
}
