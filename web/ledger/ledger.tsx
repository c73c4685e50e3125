import {formatNumber} from "../../src/units/format.ts";
import type {ResultCard} from "../api/types.ts";
import {Charts} from "../charts/charts.tsx";
import {wanted} from "../field/three-maps.tsx";
import {many, NAMES} from "../map/scenes.ts";
import {Scroll} from "../parts/scroll.tsx";
import {fresh, page, running, unrated} from "../state/field.ts";
import {openStation} from "../state/view.ts";
import {besideIt, figures, unitOf} from "../units/shown.ts";
import {Head} from "./cells.tsx";
import {HowSure} from "./how-sure.tsx";
import {judgedOf} from "./judged.ts";
import {byYear, MoneyTable} from "./money-table.tsx";
import {ProductTable} from "./product-table.tsx";

/** The strategies side by side: the product on show, all products together, and how sure the figures are. */
export function Ledger({result}: {readonly result: ResultCard}) {
  const product = wanted.value?.product;
  const state = fresh.value ? "" : "old";
  if (!product) return <PlansOnly result={result} />;
  const judged = judgedOf(result);
  const withLime = result.strategies.some(({products}) => products.some(({purpose}) => purpose === "lime"));
  return (
    <>
      <section aria-label="Ledger" class={`ledger-of ${state}`} aria-busy={running.value}>
        <Behind />
        <ProductTable result={result} product={product} judged={judged} />
        <MoneyTable result={result} judged={judged} />
        <HowSure result={result} waiting={running.value} />
        <ul class="list small soft notes">
          {withLime && <li>Lime is not in the figures by year: how many years it serves is not known here.</li>}
          {result.comparison.notes.map((note) => (
            <li key={note}>{besideIt(note)}</li>
          ))}
        </ul>
      </section>
      <Charts result={result} />
    </>
  );
}

/** Says that the figures are those of before, while they are. */
function Behind() {
  if (fresh.value) return null;
  return (
    <p class="note no-print">
      {running.value
        ? "These are the figures of before the last change; the new ones are being worked out."
        : "These are the figures of before the last change."}
    </p>
  );
}

/** Before there are rates: what each plan asks of crew and purse, and what is wanting. */
function PlansOnly({result}: {readonly result: ResultCard}) {
  const {rows} = result.comparison;
  const bags = rows.reduce((sum, {samples}) => sum + samples, 0);
  return (
    <section aria-label="Ledger" class={`ledger-of ${fresh.value ? "" : "old"}`} aria-busy={running.value}>
      <Behind />
      <Scroll label="Ledger, figures">
        <table class="ledger">
          <caption class="unseen">Sampling plans side by side</caption>
          <thead>
            <tr>
              <th scope="col">plan</th>
              <Head lines={["bags"]} />
              <Head lines={["cores"]} />
              <Head lines={[unitOf("ac") === "ac" ? "acres a bag" : "ha a bag"]} />
              <Head lines={["sampling", "$ a year"]} />
              <Head lines={["sampling", "$ in all"]} />
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.strategy}>
                <th scope="row">{NAMES[row.strategy]}</th>
                <td>{formatNumber(row.samples)}</td>
                <td>{formatNumber(row.cores)}</td>
                <td>{figures(row.acresPerSample, "ac")}</td>
                <td>{byYear(row.samplingCostPerYear, row.samplingCost)}</td>
                <td>{dollars(row.samplingCost)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      {!unrated.value && <Wanting bags={bags} />}
    </section>
  );
}

/** What there are no rates for the want of, and the way there. */
function Wanting({bags}: {readonly bags: number}) {
  const stations = page.value?.card.stations;
  const wants = (["lab", "rates", "hand-over"] as const).find((station) => stations?.[station].state === "waiting");
  return (
    <div class="note row">
      <span>
        {wants === "lab" || !wants
          ? `There are no rates yet: ${many(bags, "bag")} wait for their lab report. Drop it anywhere, then name crops and products at Rates.`
          : `There are no rates yet. ${stations?.[wants].line}`}
      </span>
      {wants && (
        <button type="button" class="no-print" onClick={() => openStation(wants === "lab" ? "lab" : "rates")}>
          {wants === "lab" ? "Go to the lab report" : "Go to Rates"}
        </button>
      )}
    </div>
  );
}

const dollars = (amount: number | undefined): string => (amount === undefined ? "no price" : figures(amount, "$"));
