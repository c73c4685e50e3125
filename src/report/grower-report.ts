import type {CertainTotal} from "../compare/certainty.ts";
import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import {escapeXml} from "./escape-xml.ts";
import {inShort, whatToDo} from "./grower-words.ts";
import {intervalChart} from "./interval-chart.ts";
import {productIds} from "./ledger-tables.ts";
import {type Paper, pageHtml, paragraphs} from "./page-html.ts";
import {rateMaps} from "./report-maps.ts";
import type {ReportModel} from "./report-model.ts";
import {NONE} from "./report-table.ts";
import {certainTotal, intervalText, STRATEGY_NAMES, sureSentences} from "./say-sure.ts";

/**
 * The field on two pages, in plain words: which strategy, how much, how sure, on the first with the maps; ledger, what to
 * do and cautions on the second. One self-contained HTML document, made to be printed.
 *
 * @param paper - Sheet size named in the print rules. Default letter; the pages fit both.
 */
export function growerReportHtml(model: ReportModel, paper: Paper = "letter"): string {
  const products = productIds(model.comparison.rows.flatMap((row) => row.products)).slice(0, 2);
  const body = `${title(model)}
${shortAnswers(model)}
${products.map(({analysis, nutrient}) => `<h3>${escapeXml(nutrientName(nutrient))}, ${model.strategies.length === 3 ? "three ways" : "side by side"}</h3>\n${rateMaps(model, analysis, nutrient)}`).join("\n")}
<p class="note">Figures on the maps are lb of product per acre; in a ring, the zone. Hatched ground gets none. ${escapeXml(model.caution)}</p>
<div class="turn">
<h2 style="margin-top:0">The ledger</h2>
${ledger(model)}
<div class="two">
<div>
<h3>How sure</h3>
${howSure(model)}
</div>
<div>
<h3>What to do</h3>
<ol>
${whatToDo(model)
  .map((step) => `<li>${escapeXml(step)}</li>`)
  .join("\n")}
</ol>
</div>
</div>
<h3>Take care</h3>
${paragraphs(cautions(model), "caution")}
<div class="sign"><div>adviser</div><div>grower</div><div>date</div></div>
</div>`;
  return pageHtml(
    `${model.field}: field report`,
    body,
    paper,
    `${model.field}, field report. Check local rules; have an adviser sign.`,
  );
}

/** "Phosphate", "Potash" as the trade says. */
export function nutrientName(nutrient: string): string {
  return nutrient === "P2O5" ? "Phosphate" : nutrient === "K2O" ? "Potash" : nutrient === "N" ? "Nitrogen" : nutrient;
}

function title({farm, field, acres, crops, date, record}: ReportModel): string {
  return `<header class="title">
<div><h1>${escapeXml(field)}</h1><p class="sub">${escapeXml([farm, `${formatNumber(acres, 1)} ac`, crops].filter(Boolean).join(" · "))}</p></div>
<div class="block">field report${date ? `<br>${escapeXml(date)}` : ""}<br>${escapeXml(record.program.name)} ${escapeXml(record.program.version)}, seed ${record.seed}</div>
</header>`;
}

function shortAnswers(model: ReportModel): string {
  const boxes = inShort(model).map(
    ({question, answer, why}) =>
      `<div><p class="q">${escapeXml(question)}</p><p class="a">${escapeXml(answer)}</p><p class="w">${escapeXml(why)}</p></div>`,
  );
  return `<div class="short">${boxes.join("\n")}</div>`;
}

/** One row for each strategy: a product's mean, total and interval stand in one cell group. */
function ledger({comparison, certainty, overUnder = [], money, advice, spread}: ReportModel): string {
  const products = productIds(comparison.rows.flatMap((row) => row.products));
  const percent = certainty ? formatNumber(100 * certainty.level) : "";
  const heads = [
    "<th>strategy</th>",
    '<th class="n">samples</th>',
    ...products.map(
      ({analysis}) =>
        `<th class="n">${escapeXml(analysis)}<br>mean, lb/ac</th><th class="n">total, lb${certainty ? `<br><small>${percent} % interval</small>` : ""}</th>`,
    ),
    ...(overUnder.length > 0 ? ['<th class="n">short on<br>ac</th><th class="n">over on<br>ac</th>'] : []),
    '<th class="n">product<br>$</th>',
    `<th class="n">sampling<br>${money ? "$/ac a year" : "$"}</th>`,
  ];
  const rows = comparison.rows.map((row) => {
    const cells = products.flatMap(({analysis, nutrient}) => {
      const line = row.products.find((other) => other.analysis === analysis && other.nutrient === nutrient);
      const total: CertainTotal | undefined = certainTotal(certainty, row.strategy, analysis, nutrient);
      const interval = total ? `<br><small>${escapeXml(intervalText(total.totalLbInterval))}</small>` : "";
      return [
        `<td class="n">${line ? formatNumber(line.meanLbPerAcre) : NONE}</td>`,
        `<td class="n">${line ? formatNumber(line.totalLb) : NONE}${interval}</td>`,
      ];
    });
    const where = overUnder.filter(({strategy}) => strategy === row.strategy);
    const judged =
      overUnder.length === 0
        ? []
        : where.length === 0
          ? [
              `<td class="n">${row.products.length > 0 ? "<small>yardstick</small>" : NONE}</td>`,
              `<td class="n">${NONE}</td>`,
            ]
          : [
              `<td class="n">${where.map(({acresUnder}) => formatNumber(acresUnder)).join("<br>")}</td>`,
              `<td class="n">${where.map(({acresOver}) => formatNumber(acresOver)).join("<br>")}</td>`,
            ];
    const own = money?.strategies.find(({strategy}) => strategy === row.strategy);
    const sampling = own ? formatNumber(own.samplingPerYear / comparison.acres, 2) : row.samplingCost;
    return `<tr${(spread ?? advice?.strategy) === row.strategy ? ' class="pick"' : ""}><td>${STRATEGY_NAMES[row.strategy]}${marks(row.strategy, spread, advice?.strategy)}</td><td class="n">${row.samples}</td>${cells.join("")}${judged.join("")}<td class="n">${row.productCost === undefined ? NONE : formatNumber(row.productCost)}</td><td class="n">${sampling === undefined ? NONE : typeof sampling === "string" ? sampling : formatNumber(sampling)}</td></tr>`;
  });
  const tolerance = overUnder[0]?.toleranceLbPerAcre;
  const setBack = Math.max(0, ...overUnder.map(({acresSetBack = 0}) => acresSetBack));
  const explained =
    tolerance === undefined
      ? ""
      : `<p class="note">Short and over: acres off by more than ${formatNumber(tolerance)} lb of nutrient per acre from what the densest samples call for, ${[...new Set(overUnder.map(({nutrient}) => nutrientName(nutrient).toLowerCase()))].join(" above ")}.${setBack > 0 ? ` Ground within setbacks, ${formatNumber(setBack, 1)} ac, is in neither.` : ""}</p>`;
  return `<table>\n<thead><tr>${heads.join("")}</tr></thead>\n<tbody>\n${rows.join("\n")}\n</tbody>\n</table>\n${explained}`;
}

/** What a reader must not mix up: the strategy that is spread, and the one that was advised. */
function marks(strategy: Strategy, spread: Strategy | undefined, advised: Strategy | undefined): string {
  const said = [...(strategy === spread ? ["spread"] : []), ...(strategy === advised ? ["advised"] : [])];
  return said.length > 0 ? `<br><small>${said.join(", ")}</small>` : "";
}

function howSure({certainty, advice, comparison}: ReportModel): string {
  if (!certainty) return paragraphs(["How sure the totals are was not worked out for this report."]);
  const charts = productIds(comparison.rows.flatMap((row) => row.products))
    .slice(0, 2)
    .map(
      ({analysis, nutrient}) =>
        `<p><small>${escapeXml(analysis)}, lb over the field</small></p>${intervalChart(certainty, analysis, nutrient, 430)}`,
    );
  return `${charts.join("\n")}
${paragraphs([...sureSentences(certainty), ...(advice ? advice.reasons.slice(0, advice.strategy === undefined ? 4 : 2) : [])], "note")}`;
}

/** Overrides first, then the caution, then the doubts about the figures. */
function cautions({caution, comparison, certainty, issues, money, pay}: ReportModel): string[] {
  const warnings = issues.filter(({severity}) => severity !== "note").length;
  const overrides = comparison.notes.filter((note) => /^For arithmetic only|from memory/.test(note));
  return [
    ...overrides,
    caution,
    [
      pay?.curves.length
        ? "No gain in yield is promised for any strategy."
        : "No gain in yield is promised for any strategy, and none is counted.",
      ...(pay ? pay.notes.slice(0, 1) : []),
      ...(certainty ? certainty.notes.slice(0, 1) : []),
      ...(money ? money.notes.slice(0, 1) : []),
    ].join(" "),
    ...(warnings > 0
      ? [
          `${warnings} ${warnings === 1 ? "remark needs" : "remarks need"} a look; the full record lists them with what to do.`,
        ]
      : []),
  ];
}
