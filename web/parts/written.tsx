import {useLayoutEffect, useRef, useState} from "preact/hooks";

interface Props {
  readonly id?: string;
  readonly "aria-label"?: string;
  readonly "aria-describedby"?: string;
  readonly "aria-invalid"?: boolean;
  readonly placeholder?: string | undefined;
  readonly inputMode?: "decimal" | undefined;
  readonly style?: {readonly width: string};
  /** Id of the words it suggests. */
  readonly list?: string | undefined;
  /** What stands in the job. */
  readonly value: string;
  readonly put: (text: string) => void;
  /** Takes the focus when it appears. */
  readonly first?: boolean;
}

/**
 * A text that counts at Enter or on leaving; Escape brings back what stood there. The focus stays where it is. A change
 * from elsewhere is shown: in the box, or under it while something is being written there.
 */
export function Written({value, put, first = false, list, ...rest}: Props) {
  const input = useRef<HTMLInputElement>(null);
  /** Absent while something is being written. */
  const told = useRef<string | undefined>(value);
  const lastTold = useRef(value);
  const [isOvertaken, overtaken] = useState(false);
  const tell = (text: string) => {
    told.current = text;
    lastTold.current = text;
    overtaken(false);
    put(text);
  };
  // At once: later it would undo what is typed meanwhile.
  useLayoutEffect(() => {
    if (told.current === undefined) {
      overtaken(value !== lastTold.current);
      return;
    }
    told.current = value;
    if (input.current) input.current.value = value;
  }, [value]);
  useLayoutEffect(() => {
    if (first) input.current?.focus();
  }, []);
  return (
    <>
      <input
        {...rest}
        ref={input}
        type="text"
        list={list}
        defaultValue={value}
        onInput={() => {
          // What is typed anew counts anew, be it the same words.
          told.current = undefined;
        }}
        onKeyDown={(event) => {
          const field = event.currentTarget;
          if (event.key === "Enter") tell(field.value);
          if (event.key !== "Escape" || field.value === value) return;
          field.value = value;
          event.preventDefault();
          tell(value);
        }}
        onBlur={({currentTarget}) => {
          if (currentTarget.value !== told.current) tell(currentTarget.value);
        }}
      />
      {isOvertaken && (
        <span class="small overtaken" role="status">
          Elsewhere it was {value === "" ? "taken out" : `set to ${value}`} meanwhile.
        </span>
      )}
    </>
  );
}
