import {escapeXml} from "./escape-xml.ts";
import {cellText, type ReportTable} from "./report-table.ts";

/** Sheet a report is printed on; both carry the same pages. */
export type Paper = "letter" | "a4";

const SHEETS: Readonly<Record<Paper, string>> = {letter: "8.5in 11in", a4: "210mm 297mm"};

/**
 * A whole document: no scripts, no links, nothing from the network. Fonts are the reader's own.
 *
 * @param foot - Stands at the foot of every printed page.
 * @param more - Rules of one kind of document, after those all share.
 */
export function pageHtml(title: string, body: string, paper: Paper, foot: string, more = ""): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escapeXml(title)}</title>
<style>
${css(paper, foot)}${more && `\n${more}`}
</style>
</head>
<body>
${body}
</body>
</html>
`;
}

/** A table as a handbook sets it: rules above and below, figures flush right, repeated heads where a page ends. */
export function tableHtml({id, title, columns, rows, notes = []}: ReportTable, level: 2 | 3 = 3): string {
  if (rows.length === 0) return "";
  const figure = columns.map(({decimals}) => (decimals === undefined ? "" : ' class="n"'));
  const head = columns.map(({head: text}, c) => `<th${figure[c]}>${escapeXml(text)}</th>`).join("");
  const body = rows
    .map((row) => {
      const cells = row.map((cell, c) => {
        const text = cellText(cell, columns[c] as (typeof columns)[number]);
        return `<td${figure[c]}>${breakable(text)}</td>`;
      });
      return `<tr>${cells.join("")}</tr>`;
    })
    .join("\n");
  return `<section class="table" id="${id}">
<h${level}>${escapeXml(title)}</h${level}>
<table${columns.length > 9 ? ' class="wide"' : ""}>
<thead><tr>${head}</tr></thead>
<tbody>
${body}
</tbody>
</table>
${notes.map((note) => `<p class="note">${escapeXml(note)}</p>`).join("\n")}
</section>`;
}

/** Lets hashes and codes break, and no ordinary word. */
function breakable(text: string): string {
  if (text.length <= 12) return escapeXml(text).replaceAll(" ", "&nbsp;");
  return text
    .split(" ")
    .map((word) => {
      if (word.length > 24) return (word.match(/.{1,16}/g) ?? []).map(escapeXml).join("<wbr>");
      return escapeXml(word).replaceAll("/", "/<wbr>");
    })
    .join(" ");
}

export function paragraphs(texts: readonly string[], className = ""): string {
  const attribute = className === "" ? "" : ` class="${className}"`;
  return texts.map((text) => `<p${attribute}>${escapeXml(text)}</p>`).join("\n");
}

function css(paper: Paper, foot: string): string {
  return `@page { size: ${SHEETS[paper]}; margin: 11mm 13mm 14mm; @bottom-left { content: ${cssText(foot)}; font: 8pt "Source Sans 3", "Source Sans Pro", "Segoe UI", Helvetica, Arial, sans-serif; color: #3f4a4e; } @bottom-right { content: counter(page) " of " counter(pages); font: 8pt "Source Sans 3", "Source Sans Pro", "Segoe UI", Helvetica, Arial, sans-serif; color: #3f4a4e; } }
:root { --ink: #1f2a2e; --soft: #3f4a4e; --rule: #b9b09d; --sheet: #fffdf8; --accent: #7a3e1d; }
* { box-sizing: border-box; }
html { font: 10pt/1.33 "Source Sans 3", "Source Sans Pro", "Segoe UI", Helvetica, Arial, sans-serif; color: var(--ink); background: #f7f3ea; font-variant-numeric: tabular-nums lining-nums; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
body { max-width: 190mm; margin: 8mm auto; padding: 0 3mm; }
h1, h2, h3 { font-family: "Source Serif 4", "Source Serif Pro", Georgia, "Times New Roman", serif; font-weight: 600; line-height: 1.15; break-after: avoid; }
h1 { font-size: 22pt; margin: 0; }
h2 { font-size: 14pt; margin: 6mm 0 2mm; }
h3 { font-size: 11.5pt; margin: 3mm 0 1mm; }
p { margin: 0 0 1.6mm; }
header.title { display: flex; justify-content: space-between; align-items: flex-end; border-bottom: 1.5pt solid var(--ink); padding-bottom: 2mm; margin-bottom: 3mm; }
header.title .sub { color: var(--soft); margin: 1mm 0 0; }
header.title .block { font-size: 9pt; text-align: right; color: var(--soft); line-height: 1.3; }
.short { display: grid; grid-template-columns: 1fr 1fr 1fr; border: 1pt solid var(--ink); background: var(--sheet); margin-bottom: 3mm; }
.short > div { padding: 2.2mm 3mm; }
.short > div + div { border-left: 0.5pt solid var(--rule); }
.short .q { font-size: 9pt; color: var(--accent); margin: 0; }
.short .a { font-size: 12pt; font-weight: 600; line-height: 1.2; margin: 0.3mm 0 0.8mm; }
.short .w { font-size: 9.2pt; margin: 0; line-height: 1.28; }
svg.maps, svg.chart { display: block; width: 100%; height: auto; overflow: visible; break-inside: avoid; }
table { border-collapse: collapse; width: 100%; font-size: 9.4pt; line-height: 1.25; border-bottom: 1pt solid var(--ink); }
table.wide { font-size: 7.8pt; }
table.wide td, table.wide th { padding-right: 0.6mm; }
table.wide td + td, table.wide th + th { padding-left: 1mm; }
th { text-align: left; vertical-align: bottom; font-weight: 400; color: var(--soft); border-bottom: 1pt solid var(--ink); padding: 0.8mm 1.6mm 0.8mm 0; }
td { vertical-align: top; padding: 0.9mm 1.6mm 0.9mm 0; border-top: 0.4pt solid var(--rule); }
td + td, th + th { padding-left: 1.6mm; }
th:last-child, td:last-child { padding-right: 0; }
tbody tr:first-child td { border-top: 0; }
th.n, td.n { text-align: right; white-space: nowrap; padding-right: 0.8mm; }
th.n { white-space: normal; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
td.pick, tr.pick td { font-weight: 600; background: #f4ecdf; }
small { font-size: 8.6pt; color: var(--soft); }
.note, .caution { font-size: 8.8pt; line-height: 1.27; color: var(--soft); margin: 1.1mm 0 0; }
.caution { border-left: 2.5pt solid #b98a2a; padding: 0.6mm 0 0.6mm 3mm; color: var(--ink); }
.two { display: grid; grid-template-columns: 1.12fr 1fr; gap: 7mm; }
.two > * { min-width: 0; }
ol, ul { margin: 0; padding-left: 5mm; }
li { margin-bottom: 1.1mm; }
.sign { display: grid; grid-template-columns: 1fr 1fr 1fr; gap: 6mm; margin-top: 8mm; break-inside: avoid; font-size: 9pt; color: var(--soft); }
.sign div { border-top: 0.6pt solid var(--ink); padding-top: 0.8mm; }
.turn { break-before: page; }
.working { columns: 2; column-gap: 8mm; font-size: 8.8pt; }
.working section { break-inside: avoid; margin-bottom: 3.5mm; border-top: 0.5pt solid var(--rule); padding-top: 1mm; }
.working h4 { margin: 0 0 0.6mm; font-size: 9.6pt; }
.working ol { padding-left: 4.5mm; }
.working li { margin-bottom: 0.3mm; }
.working .v { float: right; padding-left: 2mm; }
.working .s { color: var(--soft); font-size: 8pt; }
.working .sum { border-top: 0.5pt solid var(--ink); border-bottom: 2pt double var(--ink); font-weight: 600; padding: 0.4mm 0; margin: 0.6mm 0 0; }
pre { font: 7.6pt/1.3 "Source Code Pro", Consolas, "Liberation Mono", monospace; white-space: pre-wrap; overflow-wrap: anywhere; background: var(--sheet); border: 0.5pt solid var(--rule); padding: 2mm; }
@media print { html { background: #fff; } body { max-width: none; margin: 0; padding: 0; } .short { background: #fff; } }
@media (max-width: 640px) { .short, .two { grid-template-columns: 1fr; } .short > div + div { border-left: 0; border-top: 0.5pt solid var(--rule); } .working { columns: 1; } .table { overflow-x: auto; } }`;
}

/** A CSS string: quotes, backslashes and line ends made safe, and no way out of the style element. */
function cssText(text: string): string {
  return `"${text.replace(/[\\"<]/g, (c) => `\\${c.charCodeAt(0).toString(16)} `).replace(/\s+/g, " ")}"`;
}
