import type {ComponentChildren} from "preact";

/** Wide tables scroll inside their own frame, by keyboard too. */
export function Scroll({label, children}: {readonly label: string; readonly children: ComponentChildren}) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls has to be reachable by keyboard
    <section class="scroll" aria-label={label} tabIndex={0}>
      {children}
    </section>
  );
}
