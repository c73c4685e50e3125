import {useId} from "preact/hooks";
import {formatNumber, formatShort} from "../../src/units/format.ts";
import type {ProductCard, ResultCard, Strategy} from "../api/types.ts";
import {many, NAMES, NUTRIENT_NAMES} from "../map/scenes.ts";
import {amountIn, figures, say, unitOf} from "../units/shown.ts";
import {Chart, type Mark} from "./chart.tsx";
import {InkDefs, inkOf, Patch} from "./inks.tsx";
import {type RateArea, type RateBin, rateBins} from "./rate-bins.ts";
import {placeOn, ticksTo} from "./scale.ts";

const WIDTH = 380;
const LEFT = 42;
const RIGHT = 6;
const ROW = 98;
/** From the head of a row to the top of its tallest bar, and from the foot of its bars to the next row. */
const HEAD = 34;
const GAP = 12;
/** Where ground that gets nothing stands, apart from the scale of rates. */
const NONE = {width: 24, gap: 8};
const FOOT = 34;

interface Props {
  readonly result: ResultCard;
  readonly product: ProductCard;
  readonly old: boolean;
}

/** How much ground gets how much, for each strategy on the same axes. */
export function RatesByAcres({result, product, old}: Props) {
  const id = useId();
  const found = result.strategies.flatMap(({strategy, products}) => {
    const own = products.find(({code, purpose}) => code === product.code && purpose === product.purpose);
    return own ? [{strategy, own}] : [];
  });
  const {width, end, rows} = rateBins(found.map(({own}) => inShown(own)));
  const most = Math.max(1e-9, ...rows.flat().map((bin) => bin.area));
  const x = placeOn([0, end], [LEFT + NONE.width + NONE.gap, WIDTH - RIGHT]);
  const height = ROW * rows.length + FOOT;
  const bars = rows.flatMap((bins, row) =>
    bins.map((bin) => ({
      bin,
      row,
      strategy: found[row]?.strategy as Strategy,
      ...barOf(bin, row, x, most),
    })),
  );
  const ticks = ticksTo(end, 5).filter((tick) => tick <= end);
  return (
    <Chart
      title={`${NUTRIENT_NAMES[product.purpose] ?? product.purpose}: ground by rate`}
      axes={`${unitOf("ac")} upright, ${unitOf("lb/ac")} of ${product.analysis} along, a row for each strategy`}
      width={WIDTH}
      height={height}
      old={old}
      marks={bars.map(
        ({bin, row, strategy, x: at, width: wide}): Mark => ({
          id: `${strategy}/${bin.to}`,
          says: `${NAMES[strategy]}: ${area(bin.area)} ${unitOf("ac")} get ${rangeOf(bin)}, in ${many(bin.polygons, "piece")}.`,
          x: at,
          width: wide,
          y: rowAt(row).top - 14,
          height: ROW - HEAD - GAP + 14,
        }),
      )}
      legend={<Patch id={id} ink="slanted" name="gets nothing" />}
      says={`Each bar is ${formatShort(width)} ${unitOf("lb/ac")} wide; the triangle beneath stands at the mean.`}
      table={{
        head: ["strategy", `${product.analysis}, ${unitOf("lb/ac")}`, unitOf("ac"), "pieces"],
        rows: found.flatMap(({strategy, own}) =>
          own.byRate.map(({lbPerAcre, acres, polygons}) => [
            NAMES[strategy],
            figures(lbPerAcre, "lb/ac", {decimals: Number.isInteger(lbPerAcre) ? 0 : 1}),
            figures(acres, "ac"),
            formatNumber(polygons),
          ]),
        ),
      }}
    >
      <InkDefs id={id} of={["slanted", "plain"]} />
      {found.map(({strategy, own}, row) => (
        <Row key={strategy} name={NAMES[strategy]} product={own} row={row} most={most} x={x} />
      ))}
      {bars.map(({bin, row, x: at, y, width: wide, height: tall}) => (
        <g key={`${row}/${bin.to}`}>
          <rect
            x={at + 0.75}
            y={y}
            width={Math.max(1, wide - 1.5)}
            height={tall}
            fill={inkOf(id, bin.to === 0 ? "slanted" : "plain")}
            stroke="#1f2a2e"
            stroke-width="0.8"
          />
          <text x={at + wide / 2} y={y - 3} class="figure" text-anchor="middle">
            {area(bin.area)}
          </text>
        </g>
      ))}
      <text x={LEFT + 2 + NONE.width / 2} y={height - FOOT + 15} class="axis" text-anchor="middle">
        0
      </text>
      {ticks.slice(1).map((tick) => (
        <g key={tick}>
          <path d={`M${x(tick)} ${height - FOOT}v4`} class="ground" />
          <text x={Math.min(x(tick), WIDTH - 12)} y={height - FOOT + 15} class="axis" text-anchor="middle">
            {formatShort(tick)}
          </text>
        </g>
      ))}
      <text x={(LEFT + WIDTH) / 2} y={height - 3} class="axis" text-anchor="middle">
        {product.analysis}, {unitOf("lb/ac")}
      </text>
    </Chart>
  );
}

function inShown({byRate}: ProductCard): RateArea[] {
  return byRate.map(({lbPerAcre, acres, polygons}) => ({
    rate: amountIn(lbPerAcre, "lb/ac").value,
    area: amountIn(acres, "ac").value,
    polygons,
  }));
}

const rowAt = (row: number) => ({base: (row + 1) * ROW - GAP, top: row * ROW + HEAD});

function barOf(bin: RateBin, row: number, x: (rate: number) => number, most: number) {
  const {base, top} = rowAt(row);
  const tall = (bin.area / most) * (base - top);
  const [from, to] = bin.to === 0 ? [LEFT + 2, LEFT + 2 + NONE.width] : [x(bin.from), x(bin.to)];
  return {x: from, y: base - tall, width: to - from, height: tall};
}

interface RowProps {
  readonly name: string;
  readonly product: ProductCard;
  readonly row: number;
  /** The most ground in any bar. */
  readonly most: number;
  readonly x: (rate: number) => number;
}

function Row({name, product, row, most, x}: RowProps) {
  const {base, top} = rowAt(row);
  const y = placeOn([0, most], [base, top]);
  const ticks = ticksTo(most, 3).filter((tick) => tick <= most);
  const nothing = product.byRate.find(({lbPerAcre}) => lbPerAcre === 0)?.acres ?? 0;
  const mean = x(amountIn(product.meanLbPerAcre, "lb/ac").value);
  return (
    <>
      <text x="0" y={top - HEAD + 14} class="name">
        {name}
      </text>
      <text x={WIDTH - RIGHT} y={top - HEAD + 14} class="axis" text-anchor="end">
        mean {say(product.meanLbPerAcre, "lb/ac")}
        {nothing > 0 ? `, nothing on ${say(nothing, "ac", {decimals: 0})}` : ", some everywhere"}
      </text>
      {ticks.map((tick, i) => (
        <g key={tick}>
          <path d={`M${LEFT} ${y(tick)}H${WIDTH - RIGHT}`} class={tick === 0 ? "ground" : "rule"} />
          <text x={LEFT - 4} y={y(tick) + 4} class="axis" text-anchor="end">
            {i === ticks.length - 1 ? `${formatShort(tick)} ${unitOf("ac")}` : formatShort(tick)}
          </text>
        </g>
      ))}
      <path d={`M${mean} ${base + 2}l-4.5 8h9z`} class="mean" />
    </>
  );
}

/** "over 200 up to 225 lb/ac". */
function rangeOf({from, to, rates}: RateBin): string {
  if (to === 0) return "nothing";
  const count = rates > 1 ? ` (${rates} rates)` : "";
  return `over ${formatShort(from)} up to ${formatShort(to)} ${unitOf("lb/ac")}${count}`;
}

const area = (value: number): string => (value < 0.5 ? "<1" : formatNumber(value));
