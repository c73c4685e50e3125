import type {Certainty} from "../compare/certainty.ts";
import {formatNumber} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {intervalText, STRATEGY_NAMES} from "./say-sure.ts";
import {SANS} from "./three-maps.ts";

const ROW = 26;
const LEFT = 92;
const RIGHT = 150;

/** Totals of one product with their intervals, a bar for each strategy on one scale from zero; figures written beside. */
export function intervalChart({strategies}: Certainty, analysis: string, nutrient: string, width = 520): string {
  const rows = strategies.flatMap(({strategy, products}) => {
    const total = products.find((product) => product.analysis === analysis && product.nutrient === nutrient);
    return total ? [{name: STRATEGY_NAMES[strategy], total}] : [];
  });
  const most = Math.max(1, ...rows.map(({total}) => Math.max(total.totalLb, total.totalLbInterval.high)));
  const ticks = niceTicks(most);
  const end = Math.max(most, ticks.at(-1) ?? most);
  const x = (lb: number): number => LEFT + (lb / end) * (width - LEFT - RIGHT);
  const height = rows.length * ROW + 26;
  const grid = ticks.map(
    (tick) =>
      `<path d="M${x(tick).toFixed(1)} 4V${rows.length * ROW + 4}" stroke="#d8d0c0"/><text x="${x(tick).toFixed(1)}" y="${height - 6}" font-size="11.5" text-anchor="middle" fill="#3f4a4e">${formatNumber(tick)}</text>`,
  );
  const bars = rows.map(({name, total}, i) => {
    const y = i * ROW + ROW / 2 + 4;
    const {low, high} = total.totalLbInterval;
    const at = x(total.totalLb).toFixed(1);
    return `<text x="0" y="${y + 4}" font-size="13">${escapeXml(name)}</text>
<path d="M${x(low).toFixed(1)} ${y}H${x(high).toFixed(1)}" stroke="#5b8db2" stroke-width="7"/>
<path d="M${x(low).toFixed(1)} ${y - 5}v10M${x(high).toFixed(1)} ${y - 5}v10" stroke="#1f2a2e"/>
<circle cx="${at}" cy="${y}" r="4.5" fill="#123c5e" stroke="#fffdf8"/>
<text x="${width}" y="${y + 4}" font-size="12.5" text-anchor="end"><tspan font-weight="600">${formatNumber(total.totalLb)}</tspan><tspan fill="#3f4a4e">  ${escapeXml(intervalText(total.totalLbInterval))}</tspan></text>`;
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" class="chart" viewBox="0 0 ${width} ${height}" font-family="${SANS}" fill="#1f2a2e" role="img">
${grid.join("")}
${bars.join("\n")}
</svg>`;
}

/** Three to six round numbers from zero. */
function niceTicks(most: number): number[] {
  const rough = most / 4;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((s) => s * power >= rough) ?? 10) * power;
  return Array.from({length: Math.floor(most / step) + 1}, (_, i) => i * step);
}
