import {formatNumber} from "../../src/units/format.ts";
import type {ComparisonRow, EvidenceCard, ProductCard, ResultCard, Strategy} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {Scroll} from "../parts/scroll.tsx";
import {figures, say, unitOf} from "../units/shown.ts";
import {Head, Interval, NONE, signed} from "./cells.tsx";
import {howSure, lossOf, totalOf} from "./certain.ts";
import type {Judged} from "./judged.ts";

interface Props {
  readonly result: ResultCard;
  readonly product: ProductCard;
  readonly judged: Judged | undefined;
}

/** One product: what it costs by acre and year, how much of it, and where it is short or over. */
export function ProductTable({result, product, judged}: Props) {
  const {comparison} = result;
  const level = judged ? `${formatNumber(100 * judged.evidence.certainty.level)} % interval` : "";
  const tolerance = judged?.evidence.overUnder.find(({nutrient}) => nutrient === product.purpose)?.toleranceLbPerAcre;
  const off = tolerance === undefined ? "" : `> ${figures(tolerance, "lb/ac")} ${unitOf("lb/ac")}`;
  const offAbout =
    tolerance === undefined
      ? ""
      : `by more than ${figures(tolerance, "lb/ac")} ${unitOf("lb/ac")} of ${product.purpose}`;
  return (
    <Scroll label="Ledger, figures">
      <table class="ledger">
        <caption class="unseen">
          {product.analysis} by strategy: amounts, money and how sure they are, {comparison.field}
        </caption>
        <thead>
          <tr>
            <th scope="col">
              <b>{product.analysis}</b>
            </th>
            <Head lines={["bags"]} />
            <Head
              lines={[`${unitOf("$/ac")}`, "a year"]}
              title={`${product.analysis} alone, its cost spread over the crop years it serves`}
            />
            <Head lines={["product", "$"]} />
            <Head lines={["mean", unitOf("lb/ac")]} />
            <Head lines={[`total, ${unitOf("lb")}`, level]} />
            {tolerance !== undefined && (
              <>
                <Head lines={[`${product.purpose} short, ${unitOf("ac")}`, off]} title={`ground short ${offAbout}`} />
                <Head lines={[`${product.purpose} over, ${unitOf("ac")}`, off]} title={`ground over ${offAbout}`} />
              </>
            )}
            <Head lines={["against", `${NAMES[comparison.baseline].toLowerCase()}, ${unitOf("lb")}`]} />
            <th scope="col" class="say">
              how sure
            </th>
          </tr>
        </thead>
        <tbody>
          {comparison.rows.map((row) => (
            <Row
              key={row.strategy}
              row={row}
              result={result}
              product={product}
              judged={judged}
              losses={tolerance !== undefined}
            />
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

interface RowProps extends Props {
  readonly row: ComparisonRow;
  readonly losses: boolean;
}

function Row({row, result, product, judged, losses}: RowProps) {
  const {strategy} = row;
  const {baseline} = result.comparison;
  const line = row.products.find(({code, nutrient}) => code === product.code && nutrient === product.purpose);
  const total = judged && totalOf(judged.evidence, strategy, product);
  const loss = judged && lossOf(judged.evidence, strategy, product);
  const advised = result.evidence?.advice.strategy === strategy;
  const old = judged?.old ? "old" : "";
  return (
    <tr class={advised ? "chosen" : ""}>
      <StrategyHead name={NAMES[strategy]} advised={advised} />
      <td>{formatNumber(row.samples)}</td>
      <td class={old}>{byYear(judged?.evidence, strategy, product)}</td>
      <td>{line ? (line.cost === undefined ? "no price" : figures(line.cost, "$")) : "no rates"}</td>
      <td>{line ? figures(line.meanLbPerAcre, "lb/ac") : NONE}</td>
      <td>
        {line ? figures(line.totalLb, "lb") : NONE}
        {product.purpose !== "lime" && (
          <Interval interval={judged?.old ? undefined : total?.totalLbInterval} unit="lb" />
        )}
      </td>
      {losses && (
        <>
          <td class={old}>{loss ? figures(loss.acresUnder, "ac", {decimals: 0}) : NONE}</td>
          <td class={old}>{loss ? figures(loss.acresOver, "ac", {decimals: 0}) : NONE}</td>
        </>
      )}
      <td>{line?.differenceLb === undefined ? NONE : signed(line.differenceLb, "lb")}</td>
      <td class={`say ${old}`}>
        {[
          sureOf(judged, strategy, baseline, product, line !== undefined),
          losses && line && !loss && "short and over are measured by its results",
          loss?.acresSetBack !== undefined &&
            `${say(loss.acresSetBack, "ac")} within setbacks are in neither short nor over`,
        ]
          .filter((words) => words)
          .join("; ")}
      </td>
    </tr>
  );
}

function sureOf(
  judged: Judged | undefined,
  strategy: Strategy,
  baseline: Strategy,
  product: ProductCard,
  rated: boolean,
) {
  if (!rated) return "no rates";
  if (strategy === baseline) return "the baseline";
  return judged && !judged.old ? howSure(judged.evidence, strategy, baseline, product) : "";
}

/** The strategy the evidence favours stands out by weight and ground, and says why. */
export function StrategyHead({name, advised}: {readonly name: string; readonly advised: boolean}) {
  return (
    <th scope="row">
      {advised ? <b>{name}</b> : name}
      {advised && (
        <small class="favoured">
          {" "}
          favoured<span class="unseen"> by the evidence</span>
        </small>
      )}
    </th>
  );
}

/** The product's own line of the money, spread over the crop years it serves. */
function byYear(evidence: EvidenceCard | undefined, strategy: string, {analysis}: ProductCard): string {
  const line = evidence?.money.strategies
    .find((one) => one.strategy === strategy)
    ?.lines.find(({group, what}) => group === "product" && what === analysis);
  return line ? figures(line.perAcrePerYear, "$/ac", {decimals: 2}) : NONE;
}
