import {useRef} from "preact/hooks";
import {receive} from "./waiting.ts";

/** The keyboard's way to what dropping does. */
export function PickFiles({label}: {readonly label: string}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" onClick={() => input.current?.click()}>
        {label}
      </button>
      <input
        ref={input}
        type="file"
        multiple
        hidden
        aria-label={label}
        onChange={({currentTarget}) => {
          void receive([...(currentTarget.files ?? [])]);
          currentTarget.value = "";
        }}
      />
    </>
  );
}
