import {useId} from "preact/hooks";
import {formatNumber, formatShort} from "../../src/units/format.ts";
import type {ResultCard, Strategy} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {amountIn, figures, say, unitOf} from "../units/shown.ts";
import {Chart, type Mark} from "./chart.tsx";
import {classAcres} from "./class-acres.ts";
import {type Ink, InkDefs, inkOf, Patch} from "./inks.tsx";
import {placeOn, ticksTo} from "./scale.ts";

const WIDTH = 380;
const LEFT = 76;
const RIGHT = 14;
const ROW = 36;
const BAR = 22;
const FOOT = 34;

/** From the poorest test to the richest; what has no result is blank with level lines. */
const INKS: readonly Ink[] = ["poor", "fair", "good", "rich", "over"];
const ELEMENTS: Readonly<Record<string, string>> = {P2O5: "P", K2O: "K"};

/** Soil tests: how much ground lies in each of the guide's classes, for each strategy. */
export function TestsByClass({
  result,
  nutrient,
  old,
}: {
  readonly result: ResultCard;
  readonly nutrient: string;
  readonly old: boolean;
}) {
  const id = useId();
  const {classes, rows} = classAcres(result.comparison.rows, nutrient);
  if (rows.length === 0) return null;
  const known = classes.filter((name) => name !== "no result");
  const inks = classes.map((name): Ink => (name === "no result" ? "none" : inkFor(known.indexOf(name), known.length)));
  const whole = amountIn(result.comparison.acres, "ac").value;
  const ticks = ticksTo(whole).filter((tick) => tick <= whole);
  const x = placeOn([0, whole], [LEFT, WIDTH - RIGHT]);
  const place = (acres: number): number => x(amountIn(acres, "ac").value);
  const end = rows.length * ROW;
  const interval = (strategy: Strategy, testClass: string): string => {
    const found = result.evidence?.certainty.strategies
      .find((one) => one.strategy === strategy)
      ?.products.find((one) => one.nutrient === nutrient)
      ?.acresByClass?.find((one) => one.testClass === testClass)?.interval;
    return found ? `${figures(found.low, "ac")} to ${figures(found.high, "ac")}` : "not known";
  };
  const parts = rows.flatMap(({strategy, parts: own}, row) =>
    own.flatMap((part, c) => (part.acres > 0 ? [{...part, strategy, row, ink: inks[c] as Ink}] : [])),
  );
  return (
    <Chart
      title={`Soil-test ${ELEMENTS[nutrient] ?? nutrient}: ground by class`}
      axes={`${unitOf("ac")} along, a row for each strategy, classes from the poorest to the richest`}
      width={WIDTH}
      height={end + FOOT}
      old={old}
      marks={parts.map(
        ({strategy, testClass, from, acres, row}): Mark => ({
          id: `${strategy}/${testClass}`,
          says: `${NAMES[strategy]}: ${say(acres, "ac")} ${testClass} (${formatNumber((100 * acres) / result.comparison.acres)} %); interval ${interval(strategy, testClass)}.`,
          x: place(from),
          y: row * ROW + 3,
          width: place(from + acres) - place(from),
          height: ROW - 6,
        }),
      )}
      legend={classes.map((name, c) => <Patch key={name} id={id} ink={inks[c] as Ink} name={name} />)}
      says="By the guide's own classes, each strategy by its own samples."
      table={{
        head: ["strategy", "class", unitOf("ac"), "interval"],
        rows: rows.flatMap(({strategy, parts: own}) =>
          own.map(({testClass, acres}) => [
            NAMES[strategy],
            testClass,
            figures(acres, "ac"),
            interval(strategy, testClass),
          ]),
        ),
      }}
    >
      <InkDefs id={id} of={[...new Set(inks)]} />
      {ticks.map((tick) => (
        <g key={tick}>
          <path d={`M${x(tick)} 0V${end}`} class={tick === 0 ? "ground" : "rule"} />
          <text x={x(tick)} y={end + 14} class="axis" text-anchor="middle">
            {formatShort(tick)}
          </text>
        </g>
      ))}
      <text x={(LEFT + WIDTH) / 2} y={end + 30} class="axis" text-anchor="middle">
        {unitOf("ac")}
      </text>
      {rows.map(({strategy}, row) => (
        <text key={strategy} x="0" y={row * ROW + ROW / 2 + 5} class="name">
          {NAMES[strategy]}
        </text>
      ))}
      {parts.map(({strategy, testClass, from, acres, row, ink}) => {
        const [at, wide] = [place(from), place(from + acres) - place(from)];
        return (
          <g key={`${strategy}/${testClass}`}>
            <rect
              x={at}
              y={row * ROW + (ROW - BAR) / 2}
              width={wide}
              height={BAR}
              fill={inkOf(id, ink)}
              stroke="#1f2a2e"
              stroke-width="0.8"
            />
            {wide > 24 && (
              <text
                x={at + wide / 2}
                y={row * ROW + ROW / 2 + 4}
                class={`figure on ${ink === "over" || ink === "rich" ? "dark" : ""}`}
                text-anchor="middle"
              >
                {figures(acres, "ac", {decimals: 0})}
              </text>
            )}
          </g>
        );
      })}
    </Chart>
  );
}

/** As many tints as there are classes, from the light end to the dark one. */
function inkFor(at: number, count: number): Ink {
  const step = count > 1 ? (INKS.length - 1) / (count - 1) : 0;
  return INKS[Math.min(INKS.length - 1, Math.round(at * step))] as Ink;
}
