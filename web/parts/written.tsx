import {useLayoutEffect, useRef} from "preact/hooks";

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
 * A text that counts at Enter or on leaving; Escape brings back what stood there. The focus stays where it is, and a
 * change from elsewhere is shown.
 */
export function Written({value, put, first = false, list, ...rest}: Props) {
  const input = useRef<HTMLInputElement>(null);
  const told = useRef<string | undefined>(value);
  const tell = (text: string) => {
    told.current = text;
    put(text);
  };
  // At once: later it would undo what is typed meanwhile.
  useLayoutEffect(() => {
    told.current = value;
    if (input.current) input.current.value = value;
  }, [value]);
  useLayoutEffect(() => {
    if (first) input.current?.focus();
  }, []);
  return (
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
  );
}
