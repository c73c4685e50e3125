import {useSignal} from "@preact/signals";
import {useEffect, useRef} from "preact/hooks";
import {problemOf} from "../api/client.ts";
import type {ApiProblem} from "../api/types.ts";
import {Problem} from "../parts/problem.tsx";
import {fields, makeField} from "../state/book.ts";
import {fieldLink, go} from "../state/route.ts";

interface Props {
  /** Name to begin with. */
  readonly name: string;
  /** The same of the farm; absent: the first of the book. */
  readonly farm?: string | undefined;
  /** Id of the boundary's file, when it is asked for. */
  readonly source: () => Promise<string>;
  readonly made: () => void;
  /** Takes the focus when it appears. */
  readonly first?: boolean;
  /** The server would not have it; its words stand here. */
  readonly refused?: () => void;
}

/** Name and farm of a new field, and making it. */
export function NameField({name: suggested, farm: named, source, made, first = false, refused}: Props) {
  const name = useSignal(suggested);
  const input = useRef<HTMLInputElement>(null);
  useEffect(() => {
    if (first) input.current?.select();
  }, []);
  const farm = useSignal(named ?? fields.value?.[0]?.farm ?? "");
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  const make = async (event: Event) => {
    event.preventDefault();
    try {
      const page = await makeField({
        name: name.value.trim(),
        boundary: await source(),
        ...(farm.value.trim() !== "" && {farm: farm.value.trim()}),
      });
      made();
      go(fieldLink(page.card.id));
    } catch (error) {
      wrong.value = problemOf(error);
      refused?.();
    }
  };
  return (
    <form class="pair" onSubmit={(event) => void make(event)}>
      <label>
        Name of the field
        <input
          ref={input}
          type="text"
          required
          value={name.value}
          onInput={({currentTarget}) => {
            name.value = currentTarget.value;
          }}
        />
      </label>
      <label>
        Farm
        <input
          type="text"
          value={farm.value}
          onInput={({currentTarget}) => {
            farm.value = currentTarget.value;
          }}
        />
      </label>
      <span style="align-self:end">
        <button type="submit" class="primary">
          Make the field
        </button>
      </span>
      {wrong.value && <Problem problem={wrong.value} />}
    </form>
  );
}
