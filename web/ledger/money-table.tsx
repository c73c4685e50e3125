import {formatNumber} from "../../src/units/format.ts";
import type {ResultCard} from "../api/types.ts";
import {costsOf, isClear} from "../charts/costs.ts";
import {NAMES} from "../map/scenes.ts";
import {Scroll} from "../parts/scroll.tsx";
import {figures, unitOf} from "../units/shown.ts";
import {Head, Interval, NONE, signed} from "./cells.tsx";
import type {Judged} from "./judged.ts";
import {StrategyHead} from "./product-table.tsx";

/** All products together: each dollar spread over the years it serves. */
export function MoneyTable({result, judged}: {readonly result: ResultCard; readonly judged: Judged | undefined}) {
  const {comparison} = result;
  const costs = judged && costsOf(judged.evidence);
  const old = judged?.old ?? false;
  const per = `${unitOf("$/ac")} a year`;
  const level = judged ? `${formatNumber(100 * judged.evidence.certainty.level)} % interval` : "";
  const money = (dollars: number | undefined): string =>
    dollars === undefined ? NONE : figures(dollars, "$/ac", {decimals: 2});
  return (
    <Scroll label="All products together, figures">
      <table class="ledger">
        <caption class="unseen">All products together by strategy, with sampling and spreading</caption>
        <thead>
          <tr>
            <th scope="col">
              <b>All together</b>
            </th>
            <Head lines={[`all, ${per}`, level]} />
            <Head lines={["product", per]} />
            <Head lines={["sampling", per]} />
            <Head lines={["spreading", per]} />
            <Head lines={[`against ${NAMES[comparison.baseline].toLowerCase()}`, per]} />
            <Head lines={["product", "$"]} />
            <Head lines={["sampling", "$ a year"]} />
            <th scope="col" class="say">
              how sure
            </th>
          </tr>
        </thead>
        <tbody>
          {comparison.rows.map(({strategy, products, productCost, samplingCost, samplingCostPerYear}) => {
            const cost = costs?.rows.find((row) => row.strategy === strategy);
            const against = costs?.differences.find((row) => row.strategy === strategy);
            const advised = result.evidence?.advice.strategy === strategy;
            return (
              <tr key={strategy} class={advised ? "chosen" : ""}>
                <StrategyHead name={NAMES[strategy]} advised={advised} />
                <td class={old ? "old" : ""}>
                  {money(cost?.total)}
                  <Interval interval={cost?.interval} unit="$/ac" decimals={2} old={old} />
                </td>
                <td class={old ? "old" : ""}>{money(cost?.product)}</td>
                <td class={old ? "old" : ""}>{money(cost?.sampling)}</td>
                <td class={old ? "old" : ""}>{money(cost?.spreading)}</td>
                <td class={old ? "old" : ""}>
                  {against ? signed(against.dollars, "$/ac", 2) : NONE}
                  {against && <Interval interval={against.interval} unit="$/ac" decimals={2} old={old} />}
                </td>
                <td>
                  {productCost !== undefined
                    ? figures(productCost, "$")
                    : products.length > 0
                      ? "no price"
                      : "no rates"}
                </td>
                <td>{byYear(samplingCostPerYear, samplingCost)}</td>
                <td class={`say ${old ? "old" : ""}`}>
                  {strategy === comparison.baseline
                    ? "the baseline"
                    : against?.interval
                      ? verdict(against.interval)
                      : ""}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </Scroll>
  );
}

/** Dollars a year; a sum alone does not say how many years it serves. */
export function byYear(perYear: number | undefined, inAll: number | undefined): string {
  if (perYear !== undefined) return figures(perYear, "$");
  return inAll === undefined ? "no price" : "years not said";
}

function verdict(interval: {readonly low: number; readonly high: number}): string {
  const difference = isClear(interval) ? (interval.high < 0 ? "clearly less" : "clearly more") : "no clear difference";
  return `${difference} in this bill`;
}
