import {formatNumber} from "../../src/units/format.ts";
import type {ComparisonRow, ProductCard, ResultCard} from "../api/types.ts";
import {wanted} from "../field/three-maps.tsx";
import {many, NAMES, NUTRIENT_NAMES} from "../map/scenes.ts";
import {Scroll} from "../parts/scroll.tsx";
import {fresh, running} from "../state/field.ts";
import {howSure, intervalOf, lossOf, type Range} from "./certain.ts";
import {HowSure} from "./how-sure.tsx";

/** The three strategies side by side for the product on show, and how sure the figures are. */
export function Ledger({result}: {readonly result: ResultCard}) {
  const product = wanted.value?.product;
  if (!product) return <PlansOnly result={result} />;
  const {comparison, evidence} = result;
  const level = evidence ? `${formatNumber(100 * evidence.certainty.level)} % interval` : "";
  const tolerance = evidence?.overUnder.find(({nutrient}) => nutrient === product.purpose)?.toleranceLbPerAcre;
  return (
    <section aria-label="Ledger" class={fresh.value ? "" : "soft"}>
      <Scroll label="Ledger, figures">
        <table class="ledger">
          <caption class="unseen">
            {product.analysis} by strategy: amounts, money and how sure they are, {comparison.field}
          </caption>
          <thead>
            <tr>
              <th scope="col">{product.analysis}</th>
              <th scope="col">bags</th>
              <th scope="col">
                mean
                <br />
                lb/ac
              </th>
              <th scope="col">
                total, lb
                <br />
                {level}
              </th>
              <th scope="col">
                product
                <br />$
              </th>
              <th scope="col">
                sampling
                <br />$ a year
              </th>
              {tolerance !== undefined && (
                <>
                  <th scope="col" title={`lb of ${product.purpose} per acre`}>
                    short by
                    <br />
                    &gt; {formatNumber(tolerance)} lb, ac
                  </th>
                  <th scope="col" title={`lb of ${product.purpose} per acre`}>
                    over by
                    <br />
                    &gt; {formatNumber(tolerance)} lb, ac
                  </th>
                </>
              )}
              <th scope="col">
                against
                <br />
                {NAMES[comparison.baseline].toLowerCase()}
              </th>
              <th scope="col" class="say">
                how sure
              </th>
            </tr>
          </thead>
          <tbody>
            {comparison.rows.map((row) => (
              <Row key={row.strategy} row={row} result={result} product={product} losses={tolerance !== undefined} />
            ))}
          </tbody>
        </table>
      </Scroll>
      <HowSure result={result} waiting={running.value} />
      <ul class="list small soft" style="margin-top:8px">
        {comparison.notes.map((note) => (
          <li key={note}>{note}</li>
        ))}
      </ul>
    </section>
  );
}

interface RowProps {
  readonly row: ComparisonRow;
  readonly result: ResultCard;
  readonly product: ProductCard;
  readonly losses: boolean;
}

function Row({row, result, product, losses}: RowProps) {
  const line = row.products.find(({code, nutrient}) => code === product.code && nutrient === product.purpose);
  const advised = result.evidence?.advice.strategy === row.strategy;
  const loss = lossOf(result, row.strategy, product);
  return (
    <tr class={advised ? "chosen" : ""}>
      <th scope="row">
        {advised ? <b>{NAMES[row.strategy]}</b> : NAMES[row.strategy]}
        {advised && <span class="unseen"> (favoured by the evidence)</span>}
      </th>
      <td>{formatNumber(row.samples)}</td>
      <td>{line ? formatNumber(line.meanLbPerAcre) : "—"}</td>
      <td>
        {line ? formatNumber(line.totalLb) : "—"}
        <Interval interval={intervalOf(result, row.strategy, product)} />
      </td>
      <td>{money(line?.cost)}</td>
      <td>{money(row.samplingCostPerYear)}</td>
      {losses && (
        <>
          <td>{loss ? formatNumber(loss.acresUnder) : "—"}</td>
          <td>{loss ? formatNumber(loss.acresOver) : "—"}</td>
        </>
      )}
      <td>{line?.differenceLb === undefined ? "—" : `${signed(line.differenceLb)} lb`}</td>
      <td class="say">
        {howSure(result, row.strategy, product)}
        {losses && !loss && "; short and over are measured by its results"}
      </td>
    </tr>
  );
}

function Interval({interval}: {readonly interval: Range | undefined}) {
  if (!interval) return null;
  const [low, high] = [formatNumber(interval.low), formatNumber(interval.high)];
  return <small>{low === high ? "does not move" : `${low}–${high}`}</small>;
}

/** Before there are rates: what each plan asks of crew and purse. */
function PlansOnly({result}: {readonly result: ResultCard}) {
  return (
    <section aria-label="Ledger">
      <Scroll label="Ledger, figures">
        <table class="ledger">
          <caption class="unseen">Sampling plans side by side</caption>
          <thead>
            <tr>
              <th scope="col">plan</th>
              <th scope="col">bags</th>
              <th scope="col">cores</th>
              <th scope="col">acres a bag</th>
              <th scope="col">sampling, $</th>
              <th scope="col">$ a year</th>
            </tr>
          </thead>
          <tbody>
            {result.comparison.rows.map((row) => (
              <tr key={row.strategy}>
                <th scope="row">{NAMES[row.strategy]}</th>
                <td>{formatNumber(row.samples)}</td>
                <td>{formatNumber(row.cores)}</td>
                <td>{formatNumber(row.acresPerSample, 1)}</td>
                <td>{money(row.samplingCost)}</td>
                <td>{money(row.samplingCostPerYear)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <p class="note" style="margin-top:10px">
        There are no rates yet:{" "}
        {many(
          result.comparison.rows.reduce((sum, {samples}) => sum + samples, 0),
          "bag",
        )}{" "}
        wait for their lab report. Drop it anywhere, then name crops and products at Rates.
      </p>
    </section>
  );
}

export const money = (dollars: number | undefined): string =>
  dollars === undefined ? "no price" : formatNumber(dollars);
export const signed = (value: number): string => (value > 0 ? `+${formatNumber(value)}` : formatNumber(value));
export const nutrientName = (purpose: string): string => NUTRIENT_NAMES[purpose] ?? purpose;
