import {signal} from "@preact/signals";
import {useEffect} from "preact/hooks";
import {formatNumber, formatShort} from "../../src/units/format.ts";
import {api, got, problemOf} from "../api/client.ts";
import type {ApiProblem, ExplainedRate, WorkingPage, WorkingStep} from "../api/types.ts";
import {wanted} from "../field/three-maps.tsx";
import {NAMES, NUTRIENT_NAMES} from "../map/scenes.ts";
import {Problem} from "../parts/problem.tsx";
import {result} from "../state/field.ts";
import {openStation, selection} from "../state/view.ts";
import {amountIn, besideIt, say} from "../units/shown.ts";
import {ground} from "./at-point.ts";
import {ChooseUnit} from "./choose-unit.tsx";
import {GroundHere} from "./ground-here.tsx";
import {TestScale} from "./test-scale.tsx";

const found = signal<{readonly key: string; readonly page?: WorkingPage; readonly problem?: ApiProblem} | undefined>(
  undefined,
);

/** Why the chosen unit gets what it gets, from soil test to rate. */
export function Working() {
  const chosen = selection.value;
  const made = result.value;
  const unit = chosen?.unit ?? ground.value?.units.find(({strategy}) => strategy === chosen?.strategy)?.unit;
  const card = made?.strategies.find(({strategy}) => strategy === chosen?.strategy);
  const asked = card?.pooled ? "whole field" : unit;
  const rated = (card?.products.length ?? 0) > 0;
  const key = made && chosen && asked && rated ? `${made.id}/${chosen.strategy}/${asked}` : "";
  useEffect(() => {
    if (key === "" || !made || !chosen || !asked) return;
    void fetchWorking(key, {id: made.id, strategy: chosen.strategy, unit: asked});
  }, [key]);
  const now = found.value?.key === key ? found.value : undefined;
  return (
    <>
      <div>
        <button type="button" class="plain" onClick={() => openStation("rates")}>
          ← back to the settings of rates
        </button>
      </div>
      <ChooseUnit />
      {!chosen && <p class="soft">Click a unit on a map, or choose one above, to see why it gets what it gets.</p>}
      {chosen && key !== "" && !now && <p class="soft">Fetching the working…</p>}
      {chosen && !rated && <p class="soft">There are no rates yet. What is known of the ground stands below.</p>}
      {now?.problem && <Problem problem={now.problem} />}
      {now?.page && <Unit page={now.page} strategy={NAMES[now.page.strategy]} />}
      {chosen?.lon !== undefined && <GroundHere />}
    </>
  );
}

async function fetchWorking(key: string, param: {id: string; strategy: string; unit: string}): Promise<void> {
  try {
    found.value = {key, page: await got(api.results[":id"].working[":strategy"][":unit"].$get({param}))};
  } catch (error) {
    found.value = {key, problem: problemOf(error)};
  }
}

function Unit({page, strategy}: {readonly page: WorkingPage; readonly strategy: string}) {
  const purpose = wanted.value?.product?.purpose;
  const first = page.rates.filter(({nutrient}) => nutrient === purpose);
  const others = page.rates.filter(({nutrient}) => nutrient !== purpose);
  return (
    <>
      <div>
        <h2>{capital(page.label)}</h2>
        <p class="small soft">
          {say(page.acres, "ac")}, {strategy.toLowerCase()}
          {page.unit !== page.label && `, bag ${page.unit}`}
        </p>
      </div>
      {[...first, ...others].map((rate, i) => (
        <details key={rate.nutrient} open={i === 0}>
          <summary>
            {NUTRIENT_NAMES[rate.nutrient] ?? rate.nutrient}, {rate.testClass}
          </summary>
          <Rate rate={rate} />
        </details>
      ))}
      {page.lime.map((lime) => (
        <details key={lime.material}>
          <summary>
            Lime, {say(lime.tonPerAcre, "ton/ac", {short: true})} of {lime.material}
          </summary>
          <Steps steps={lime.working} />
        </details>
      ))}
    </>
  );
}

function Rate({rate}: {readonly rate: ExplainedRate}) {
  return (
    <div style="display:grid;gap:10px">
      <TestScale rate={rate} />
      <Steps steps={[...rate.working, ...rate.products.flatMap(({working}) => working)]} />
      {rate.products.length === 0 && (
        <div class="answer">
          <span>{NUTRIENT_NAMES[rate.nutrient] ?? rate.nutrient}</span>
          <span>
            {formatShort(rate.rateLbPerAcre, 1)} lb/ac
            <InMetric value={rate.rateLbPerAcre} unit="lb/ac" decimals={1} />
          </span>
        </div>
      )}
      {rate.products.map((product) => (
        <div key={product.code}>
          <div class="answer">
            <span>{product.analysis}</span>
            <span>
              {formatNumber(product.rateLbPerAcre)} lb/ac
              <InMetric value={product.rateLbPerAcre} unit="lb/ac" />
            </span>
          </div>
          {product.heldBy && (
            <p class="note" style="margin-top:8px">
              Held at the {product.heldBy === "maximum" ? "largest" : "smallest"} rate you set: the guide's own comes to{" "}
              {say(product.exactLbPerAcre, "lb/ac")}.
            </p>
          )}
        </div>
      ))}
      {rate.issues.map((issue) => (
        <p class="note" key={issue.message}>
          {besideIt(`${issue.message} ${issue.hint ?? ""}`)}
        </p>
      ))}
    </div>
  );
}

function Steps({steps}: {readonly steps: readonly WorkingStep[]}) {
  return (
    <ol class="steps-of">
      {steps.map((step) => (
        <li key={`${step.text}/${step.source}`}>
          <span>{step.text}</span>
          <span class="value">
            {formatShort(step.value, 2)} {step.unit}
          </span>
          <span class="from">
            {step.source}
            {step.basis === "from memory" && "; from memory, still to be checked against the print"}
          </span>
        </li>
      ))}
    </ol>
  );
}

/** A guide is worked in its own units, and so is its working: who reads metric gets the answer in metric beside it. */
function InMetric({
  value,
  unit,
  decimals,
}: {
  readonly value: number;
  readonly unit: string;
  readonly decimals?: number;
}) {
  const there = amountIn(value, unit);
  if (there.unit === unit) return null;
  return <span class="in-metric">{say(value, unit, {decimals, short: decimals !== undefined})}</span>;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
