import {running} from "../state/field.ts";
import {figures} from "../units/shown.ts";
import type {Range} from "./certain.ts";

/** What stands where there is no figure. */
export const NONE = "—";

interface HeadProps {
  /** The unit is the last line. */
  readonly lines: readonly string[];
  readonly title?: string;
}

/** The head of a column of figures, its unit under its name. */
export function Head({lines, title}: HeadProps) {
  return (
    <th scope="col" title={title}>
      {lines.map((line, i) => (
        <span key={line}>
          {i > 0 && <br />}
          {line}
        </span>
      ))}
    </th>
  );
}

interface IntervalProps {
  readonly interval: Range | undefined;
  readonly unit: string;
  readonly decimals?: number;
  /** Of before the last change. */
  readonly old?: boolean;
}

/** Small under its figure. */
export function Interval({interval, unit, decimals, old = false}: IntervalProps) {
  if (!interval) return running.value ? <small>working it out</small> : null;
  const [low, high] = [interval.low, interval.high].map((end) => figures(end, unit, {decimals})) as [string, string];
  if (low === high) return <small class={`words ${old ? "old" : ""}`}>same at every draw</small>;
  const text = /^−/.test(low) ? `${low} to ${high}` : `${low}–${high}`;
  return <small class={old ? "old" : ""}>{text}</small>;
}

/** With its sign, as differences are read. */
export function signed(value: number, unit: string, decimals?: number): string {
  const text = figures(value, unit, {decimals});
  return value > 0 && text !== figures(0, unit, {decimals}) ? `+${text}` : text;
}
