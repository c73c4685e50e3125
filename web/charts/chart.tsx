import {useSignal} from "@preact/signals";
import type {ComponentChildren} from "preact";
import {useId, useRef} from "preact/hooks";
import {Scroll} from "../parts/scroll.tsx";

/** A place on a chart with its numbers in words. */
export interface Mark {
  readonly id: string;
  readonly says: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** Makes it a button. */
  readonly take?: () => void;
}

export interface ChartTable {
  readonly head: readonly string[];
  /** The first cell of each names its row. */
  readonly rows: readonly (readonly string[])[];
}

interface Props {
  readonly title: string;
  /** What stands on the axes, in words. */
  readonly axes: string;
  readonly width: number;
  readonly height: number;
  /** In the order in which they are read. */
  readonly marks: readonly Mark[];
  readonly table: ChartTable;
  /** Stands under the chart while no mark is looked at. */
  readonly says?: string;
  /** Of the inks and hatches. */
  readonly legend?: ComponentChildren;
  /** Figures of before the last change. */
  readonly old?: boolean;
  /** The drawing, in the chart's own units. */
  readonly children: ComponentChildren;
}

/**
 * A figure as a handbook prints it: title, drawing, what the mark that is looked at says, and the numbers as a table.
 * The drawing takes one stop of the Tab key; arrows go along its marks.
 */
export function Chart(props: Props) {
  const {title, axes, width, height, marks, says = "", legend, old = false, children} = props;
  const id = useId();
  const at = useSignal(0);
  const seen = useSignal<string | undefined>(undefined);
  const drawing = useRef<SVGSVGElement>(null);
  const now = marks.find((mark) => mark.id === seen.value);
  const last = marks.length - 1;
  const go = (event: KeyboardEvent): void => {
    const to = stepOf(event.key, Math.min(at.value, last), last);
    if (to === undefined) return;
    event.preventDefault();
    at.value = to;
    drawing.current?.querySelectorAll<SVGElement>(".mark")[to]?.focus();
  };
  return (
    <figure class={`chart ${old ? "old" : ""}`} aria-labelledby={`${id}-title`}>
      <figcaption>
        <h3 id={`${id}-title`}>{title}</h3>
        {legend && <span class="inks">{legend}</span>}
      </figcaption>
      {/* biome-ignore lint/a11y/useSemanticElements: a drawing is no fieldset */}
      <svg
        ref={drawing}
        viewBox={`0 0 ${width} ${height}`}
        role="group"
        aria-label={`${title}: ${axes}. Arrow keys go along it.`}
        onKeyDown={go}
      >
        {/* biome-ignore lint/a11y/noAriaHiddenOnFocusable: nothing in the drawing takes the focus; its marks do */}
        <g aria-hidden="true">{children}</g>
        {marks.map((mark, i) => (
          <MarkOf
            key={mark.id}
            mark={mark}
            reached={i === Math.min(at.value, last)}
            see={(one) => (seen.value = one)}
          />
        ))}
      </svg>
      <p class="reads" aria-hidden="true">
        {now ? now.says : says}
      </p>
      <details class="as-table">
        <summary>
          as a table<span class="unseen">: {title}</span>
        </summary>
        <Table {...props} />
      </details>
    </figure>
  );
}

interface MarkProps {
  readonly mark: Mark;
  readonly reached: boolean;
  readonly see: (id: string | undefined) => void;
}

function MarkOf({mark, reached, see}: MarkProps) {
  const {id, says, take, ...box} = mark;
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: its role is that of an image or of a button
    <rect
      class={take ? "mark takes" : "mark"}
      {...box}
      tabIndex={reached ? 0 : -1}
      role={take ? "button" : "img"}
      aria-label={says}
      onPointerEnter={() => see(id)}
      onPointerLeave={() => see(undefined)}
      onFocus={() => see(id)}
      onBlur={() => see(undefined)}
      {...(take && {
        onClick: take,
        onKeyDown: (event: KeyboardEvent) => {
          if (event.key !== "Enter" && event.key !== " ") return;
          event.preventDefault();
          take();
        },
      })}
    />
  );
}

function Table({title, table: {head, rows}}: Props) {
  return (
    <Scroll label={`${title}, figures`}>
      <table>
        <caption class="unseen">{title}</caption>
        <thead>
          <tr>
            {head.map((text) => (
              <th key={text} scope="col">
                {text}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, ...cells], r) => (
            <tr key={r}>
              <th scope="row">{name}</th>
              {cells.map((cell, c) => (
                <td key={c}>{cell}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

function stepOf(key: string, at: number, last: number): number | undefined {
  switch (key) {
    case "ArrowRight":
    case "ArrowDown":
      return Math.min(last, at + 1);
    case "ArrowLeft":
    case "ArrowUp":
      return Math.max(0, at - 1);
    case "Home":
      return 0;
    case "End":
      return last;
    default:
      return undefined;
  }
}
