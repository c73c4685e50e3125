import type {Recommendation, WorkingStep} from "../recommend/recommendation.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {nutrientName} from "./grower-report.ts";
import {productIds} from "./ledger-tables.ts";
import {orders, sayChoice} from "./order-words.ts";
import {type Paper, pageHtml, paragraphs, tableHtml} from "./page-html.ts";
import {reportTables} from "./record-tables.ts";
import {differenceMaps, rateMaps} from "./report-maps.ts";
import type {ReportModel, ReportStrategy} from "./report-model.ts";
import {STRATEGY_NAMES, sureSentences} from "./say-sure.ts";

/** Tables that stand after the working instead of among the evidence. */
const LAST = ["units", "inputs", "steps", "issues"];

/**
 * The full record for adviser and agency: every table, map, working, remark, input with its hash, and option. One
 * self-contained HTML document, made to be printed.
 */
export function recordHtml(model: ReportModel, paper: Paper = "letter"): string {
  const {record, comparison, advice, certainty, differences = []} = model;
  const tables = reportTables(model);
  const choice = sayChoice(model);
  const products = productIds(comparison.rows.flatMap((row) => row.products));
  const say = (list: readonly string[]): string =>
    `<ul>${list.map((text) => `<li>${escapeXml(text)}</li>`).join("")}</ul>`;
  const body = `<header class="title">
<div><h1>${escapeXml(model.field)}</h1><p class="sub">${escapeXml([model.farm, `${formatNumber(model.acres, 1)} ac`, model.crops].filter(Boolean).join(" · "))}</p></div>
<div class="block">full record${model.date ? `<br>${escapeXml(model.date)}` : ""}<br>${escapeXml(record.program.name)} ${escapeXml(record.program.version)}, seed ${record.seed}</div>
</header>
${paragraphs([model.caution], "caution")}
<h2>What it comes to</h2>
${choice === "" ? "" : `<p><strong>${escapeXml(choice)}</strong></p>${say(orders(model))}`}
${advice ? `<p><strong>${escapeXml(advice.headline)}</strong></p>${say([...advice.reasons, advice.howSure])}` : ""}
${certainty ? say(sureSentences(certainty)) : ""}
${say(comparison.notes)}
<h2>Maps</h2>
${products.map(({analysis, nutrient}) => `<h3>${escapeXml(nutrientName(nutrient))}</h3>${rateMaps(model, analysis, nutrient)}`).join("\n")}
${products
  .map(({analysis}) => differences.filter((map) => map.analysis === analysis))
  .filter((maps) => maps.length > 0)
  .map(
    (maps) =>
      `<h3>Where strategies part, ${escapeXml(maps[0]?.analysis ?? "")}</h3>${differenceMaps(model.outline, maps)}`,
  )
  .join("\n")}
<h2>Tables</h2>
${tables
  .filter(({id}) => !LAST.includes(id))
  .map((table) => tableHtml(table))
  .join("\n")}
<h2>Sampling units</h2>
${record.labSentences.length > 0 ? say(record.labSentences) : ""}
${tables
  .filter(({id}) => id === "units")
  .map((table) => tableHtml(table))
  .join("\n")}
<h2>Working of every rate</h2>
${model.strategies.map(workingOf).join("\n")}
<h2>What it was made from</h2>
${tables
  .filter(({id}) => id === "inputs" || id === "steps" || id === "issues")
  .map((table) => tableHtml(table))
  .join("\n")}
<h3>Every option in force</h3>
<pre>${escapeXml(JSON.stringify(record.options, null, 1) ?? "")}</pre>`;
  return pageHtml(
    `${model.field}: full record`,
    body,
    paper,
    `${model.field}, full record. Check local rules; have an adviser sign.`,
  );
}

function workingOf({plan, recommendations, prescriptions}: ReportStrategy): string {
  if (recommendations.length === 0) return "";
  const blocks = recommendations.map((recommendation) => {
    const {unit, nutrient} = recommendation;
    const made = prescriptions.find((p) => p.nutrient === nutrient);
    const rate =
      made?.unitRates.find((r) => r.unit === unit) ?? (unit === "whole field" ? made?.unitRates[0] : undefined);
    return block(recommendation, rate && made ? {analysis: made.product.analysis, ...rate} : undefined);
  });
  return `<h3>${STRATEGY_NAMES[plan.strategy]}</h3>\n<div class="working">\n${blocks.join("\n")}\n</div>`;
}

function block(
  {unit, nutrient, testClass, rateLbPerAcre, guide, working, issues}: Recommendation,
  spread?: {readonly analysis: string; readonly rateLbPerAcre: number; readonly working: readonly WorkingStep[]},
): string {
  const step = ({text, value, unit: of, source, basis}: WorkingStep): string =>
    `<li><span class="v">${formatShort(value, 2)} ${escapeXml(of)}</span>${escapeXml(text)} <span class="s">${escapeXml(source)}${basis === "from memory" ? ", from memory" : ""}</span></li>`;
  const sum = (text: string, value: number, of: string): string =>
    `<p class="sum"><span class="v">${formatShort(value, 2)} ${escapeXml(of)}</span>${escapeXml(text)}</p>`;
  return `<section><h4>${escapeXml(unit)}, ${nutrient}: ${escapeXml(testClass)}</h4>
<p class="s">${escapeXml(`${guide.title}, ${guide.edition}`)}</p>
<ol>${working.map(step).join("")}</ol>
${sum(nutrient, rateLbPerAcre, `lb ${nutrient}/ac`)}
${spread ? `<ol start="${working.length + 1}">${spread.working.map(step).join("")}</ol>${sum(spread.analysis, spread.rateLbPerAcre, "lb/ac")}` : ""}
${issues.map(({message}) => `<p class="s">${escapeXml(message)}</p>`).join("")}</section>`;
}
