import type {SamplingPlan} from "../sampling/plan.ts";
import {escapeXml} from "./escape-xml.ts";
import {type Paper, pageHtml} from "./page-html.ts";
import {qrSvg} from "./qr-code.ts";
import {bagsOf, PLAN_KINDS} from "./sampling-bags.ts";
import {depthText} from "./sampling-sheet.ts";

export interface BagLabelsModel {
  readonly farm?: string | undefined;
  readonly field: string;
  readonly plan: SamplingPlan;
  /** What the plan is called in print. Default: its strategy. */
  readonly kind?: string | undefined;
}

/** Labels of a page: three across and seven down, 60 by 34 mm, inside the margins of letter and A4. */
export const LABELS_ON_PAGE = 21;

/**
 * A label for each bag, in walking order: the id in large type and as a QR code, field, depth, strategy, room for the
 * date. One self-contained HTML document, to be printed on plain or adhesive sheets and cut along the lines.
 *
 * The code holds the id exactly as the plan has it, so that what is scanned joins without retyping; an id that carries
 * a check character carries it there too.
 */
export function bagLabelsHtml(
  {farm, field, plan, kind = PLAN_KINDS[plan.strategy]}: BagLabelsModel,
  paper: Paper = "letter",
): string {
  const depth = depthText(plan.depth);
  const place = [field, farm].filter(Boolean).join(", ");
  const blind = plan.duplicates !== undefined;
  const bags = bagsOf(plan);
  if (blind) bags.sort((a, b) => (a.id < b.id ? -1 : 1));
  const labels = bags.map(
    ({id, unit, cores}) => `<div class="label">
${qrSvg(id, "21mm")}
<div class="words"><p class="id"${id.length > 6 ? ' style="font-size:14pt"' : ""}>${escapeXml(id)}</p>
<p>${blind ? "" : `${escapeXml(unit.label)}, `}${cores.length} cores</p>
<p><b>${depth.us}</b> (${depth.metric})</p></div>
<div class="foot"><span>${escapeXml(place)} · ${escapeXml(kind)}</span><span class="date">date</span></div>
</div>`,
  );
  const pages: string[] = [];
  for (let from = 0; from < labels.length; from += LABELS_ON_PAGE) {
    pages.push(`<div class="labels">\n${labels.slice(from, from + LABELS_ON_PAGE).join("\n")}\n</div>`);
  }
  const name = `${field}, ${kind} bag labels`;
  return pageHtml(name, pages.join("\n"), paper, name, LABEL_CSS);
}

const LABEL_CSS = `html { background: #fff; color: #000; }
.labels { display: grid; grid-template-columns: repeat(3, 60mm); grid-auto-rows: 34mm; width: 180mm; margin: 0 auto; border-left: 0.3pt dashed #888; border-top: 0.3pt dashed #888; }
.labels + .labels { break-before: page; }
.label { border-right: 0.3pt dashed #888; border-bottom: 0.3pt dashed #888; padding: 1.6mm 2mm 1.4mm; display: grid; grid-template-columns: 21mm 1fr; grid-template-rows: 1fr auto; column-gap: 1.5mm; overflow: hidden; break-inside: avoid; }
.label .qr { display: block; }
.label .words { align-self: center; min-width: 0; }
.label p { margin: 0; font-size: 8.4pt; line-height: 1.25; }
.label .id { font-size: 18pt; font-weight: 700; line-height: 1.1; letter-spacing: 0.02em; white-space: nowrap; }
.label .foot { grid-column: 1 / 3; display: flex; gap: 2mm; font-size: 7pt; line-height: 1.15; align-items: end; }
.label .foot span:first-child { flex: 1; min-width: 0; max-height: 2.3em; overflow: hidden; }
.label .date { width: 18mm; border-bottom: 0.6pt solid #000; height: 4.6mm; }`;
