import type {ResultCard} from "../api/types.ts";
import {wanted} from "../field/three-maps.tsx";
import {judgedOf} from "../ledger/judged.ts";
import {fresh} from "../state/field.ts";
import {CostByStrategy} from "./cost-by-strategy.tsx";
import {costsOf} from "./costs.ts";
import {RatesByAcres} from "./rates-by-acres.tsx";
import {TestsByClass} from "./tests-by-class.tsx";

/** What the ledger says in figures, to be seen at a glance. */
export function Charts({result}: {readonly result: ResultCard}) {
  const product = wanted.value?.product;
  if (!product) return null;
  const judged = judgedOf(result);
  const old = !fresh.value;
  return (
    <section class="charts" aria-label="Charts">
      <RatesByAcres result={result} product={product} old={old} />
      {judged && <CostByStrategy costs={costsOf(judged.evidence)} old={old || judged.old} />}
      <TestsByClass result={result} nutrient={product.purpose} old={old} />
    </section>
  );
}
