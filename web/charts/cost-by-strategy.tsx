import {useId} from "preact/hooks";
import {formatNumber} from "../../src/units/format.ts";
import {NAMES} from "../map/scenes.ts";
import {amountIn, figures, unitOf} from "../units/shown.ts";
import {Chart, type Mark} from "./chart.tsx";
import {type CostDifference, type CostRow, type Costs, costSentences, type Ends, isClear} from "./costs.ts";
import {type Ink, InkDefs, inkOf, Patch} from "./inks.tsx";
import {decimalsOf, placeOn, ticksAround, ticksTo} from "./scale.ts";

const WIDTH = 380;
const LEFT = 76;
const RIGHT = 104;
const ROW = 34;
const BAR = 18;
const FOOT = 34;
const HEAD = 24;

const PARTS = [
  {part: "product", ink: "plain"},
  {part: "sampling", ink: "dots"},
  {part: "spreading", ink: "slanted"},
] as const satisfies readonly {part: keyof CostRow; ink: Ink}[];

/** What each strategy costs by acre and year, how far that could move, and how they differ. */
export function CostByStrategy({costs, old}: {readonly costs: Costs; readonly old: boolean}) {
  const id = useId();
  const {rows, differences, baseline, level} = costs;
  const per = `${unitOf("$/ac")} a year`;
  const ticks = ticksTo(Math.max(...rows.map((row) => inShown(Math.max(row.total, row.interval?.high ?? 0)))));
  const x = placeOn([0, ticks.at(-1) ?? 1], [LEFT, WIDTH - RIGHT]);
  const under = rows.length * ROW + FOOT;
  const apart = ticksAround(
    Math.min(0, ...differences.map((one) => inShown(Math.min(one.dollars, one.interval?.low ?? 0)))),
    Math.max(0, ...differences.map((one) => inShown(Math.max(one.dollars, one.interval?.high ?? 0)))),
  );
  const dx = placeOn([apart[0] ?? 0, apart.at(-1) ?? 1], [LEFT, WIDTH - RIGHT]);
  const height = under + (differences.length > 0 ? HEAD + differences.length * ROW + FOOT : 0);
  const percent = `${formatNumber(100 * level)} %`;
  return (
    <Chart
      title="Cost by strategy"
      axes={`${per} along; product, sampling and spreading end to end, then the difference from ${NAMES[baseline].toLowerCase()}`}
      width={WIDTH}
      height={height}
      old={old}
      marks={[
        ...rows.map((row, i) => totalMark(row, i, percent)),
        ...differences.map((one, i) => differenceMark(one, i, under, costs)),
      ]}
      legend={PARTS.map(({part, ink}) => <Patch key={part} id={id} ink={ink} name={part} />)}
      says={costSentences(costs, NAMES, {figures: money, area: unitOf("ac") === "ac" ? "an acre" : "a hectare"}).join(
        " ",
      )}
      table={{
        head: [
          "strategy",
          ...PARTS.map(({part}) => part),
          `all, ${per}`,
          `${percent} interval`,
          `against ${NAMES[baseline].toLowerCase()}`,
          `${percent} interval of that`,
        ],
        rows: rows.map((row) => {
          const against = differences.find(({strategy}) => strategy === row.strategy);
          return [
            NAMES[row.strategy],
            ...PARTS.map(({part}) => money(row[part])),
            money(row.total),
            endsText(row.interval),
            against ? signed(against.dollars) : "—",
            against ? endsText(against.interval) : "—",
          ];
        }),
      }}
    >
      <InkDefs id={id} of={PARTS.map(({ink}) => ink)} />
      <Axis ticks={ticks} x={x} y={rows.length * ROW} label={per} />
      {rows.map((row, i) => (
        <Bars key={row.strategy} id={id} row={row} i={i} x={x} />
      ))}
      {differences.length > 0 && (
        <g transform={`translate(0 ${under + HEAD})`}>
          <text x="0" y="-8" class="name">
            Against {NAMES[baseline].toLowerCase()}
          </text>
          <Axis ticks={apart} x={dx} y={differences.length * ROW} label={`${per}; less to the left of 0`} />
          {differences.map((one, i) => (
            <Difference key={one.strategy} one={one} i={i} x={dx} />
          ))}
        </g>
      )}
    </Chart>
  );
}

function totalMark(row: CostRow, i: number, percent: string): Mark {
  const parts = PARTS.map(({part}) => `${part} ${money(row[part])}`).join(", ");
  return {
    id: row.strategy,
    says: `${NAMES[row.strategy]}: ${money(row.total)} ${unitOf("$/ac")} a year: ${parts}. ${row.interval ? `${percent} interval ${endsText(row.interval)}.` : NO_PRICE}`,
    x: 0,
    y: i * ROW + 2,
    width: WIDTH,
    height: ROW - 4,
  };
}

function differenceMark(
  {strategy, dollars, interval}: CostDifference,
  i: number,
  under: number,
  {baseline, level}: Costs,
): Mark {
  const clear = interval && (isClear(interval) ? "a clear difference" : "no clear difference");
  const sure = interval ? `${formatNumber(100 * level)} % interval ${endsText(interval)}: ${clear}.` : NO_PRICE;
  return {
    id: `${strategy} against`,
    says: `${NAMES[strategy]} against ${NAMES[baseline].toLowerCase()}: ${signed(dollars)} ${unitOf("$/ac")} a year. ${sure}`,
    x: 0,
    y: under + HEAD + i * ROW + 2,
    width: WIDTH,
    height: ROW - 4,
  };
}

const NO_PRICE = "Not every product has a price, so how sure that is cannot be told.";

function Bars({
  id,
  row,
  i,
  x,
}: {
  readonly id: string;
  readonly row: CostRow;
  readonly i: number;
  readonly x: (dollars: number) => number;
}) {
  const y = i * ROW + (ROW - BAR) / 2;
  let from = 0;
  return (
    <>
      <text x="0" y={y + BAR - 4} class="name">
        {NAMES[row.strategy]}
      </text>
      {PARTS.map(({part, ink}) => {
        const start = x(inShown(from));
        from += row[part];
        const wide = x(inShown(from)) - start;
        return (
          <rect
            key={part}
            x={start}
            y={y}
            width={Math.max(0, wide)}
            height={BAR}
            fill={inkOf(id, ink)}
            stroke="#1f2a2e"
            stroke-width="0.8"
          />
        );
      })}
      {row.interval && <Whisker ends={row.interval} y={y + BAR / 2} x={x} />}
      <text x={WIDTH} y={y + 7} class="figure strong" text-anchor="end">
        {money(row.total)}
      </text>
      <text x={WIDTH} y={y + 20} class="axis" text-anchor="end">
        {endsText(row.interval)}
      </text>
    </>
  );
}

function Difference({
  one: {strategy, dollars, interval},
  i,
  x,
}: {
  readonly one: CostDifference;
  readonly i: number;
  readonly x: (dollars: number) => number;
}) {
  const y = i * ROW + ROW / 2;
  return (
    <>
      <path d={`M${x(0)} ${i * ROW}v${ROW}`} class="ground" />
      <text x="0" y={y + 5} class="name">
        {NAMES[strategy]}
      </text>
      {interval && <Whisker ends={interval} y={y} x={x} />}
      <circle
        cx={x(inShown(dollars))}
        cy={y}
        r="4.5"
        fill={interval && isClear(interval) ? "#123c5e" : "#fffdf8"}
        stroke="#123c5e"
        stroke-width="1.6"
      />
      <text x={WIDTH} y={y - 2} class="figure strong" text-anchor="end">
        {signed(dollars)}
      </text>
      <text x={WIDTH} y={y + 12} class="axis" text-anchor="end">
        {endsText(interval)}
      </text>
    </>
  );
}

function Whisker({
  ends: {low, high},
  y,
  x,
}: {
  readonly ends: Ends;
  readonly y: number;
  readonly x: (dollars: number) => number;
}) {
  const [from, to] = [x(inShown(low)), x(inShown(high))];
  return <path d={`M${from} ${y}H${to}M${from} ${y - 5}v10M${to} ${y - 5}v10`} class="whisker" />;
}

interface AxisProps {
  readonly ticks: readonly number[];
  readonly x: (value: number) => number;
  readonly y: number;
  readonly label: string;
}

function Axis({ticks, x, y, label}: AxisProps) {
  const decimals = decimalsOf(ticks);
  return (
    <>
      {ticks.map((tick) => (
        <g key={tick}>
          <path d={`M${x(tick)} 0V${y}`} class={tick === 0 ? "ground" : "rule"} />
          <text x={x(tick)} y={y + 14} class="axis" text-anchor="middle">
            {formatNumber(tick, decimals)}
          </text>
        </g>
      ))}
      <text x={(x(ticks[0] ?? 0) + x(ticks.at(-1) ?? 1)) / 2} y={y + 28} class="axis" text-anchor="middle">
        {label}
      </text>
    </>
  );
}

const inShown = (dollarsPerAcre: number): number => amountIn(dollarsPerAcre, "$/ac").value;
const money = (dollarsPerAcre: number): string => figures(dollarsPerAcre, "$/ac", {decimals: 2});
const signed = (dollarsPerAcre: number): string =>
  `${money(dollarsPerAcre) !== money(0) && dollarsPerAcre > 0 ? "+" : ""}${money(dollarsPerAcre)}`;

function endsText(ends: Ends | undefined): string {
  if (!ends) return "not known";
  const [low, high] = [money(ends.low), money(ends.high)];
  if (low === high) return "same at every draw";
  return ends.low < 0 ? `${low} to ${high}` : `${low}–${high}`;
}
