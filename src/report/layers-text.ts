import type {LayerAudit, LayersAudit} from "../layers/audit-layers.ts";
import {formatNumber} from "../units/format.ts";
import {type TextColumn, tableLines, wrapWords} from "./text-table.ts";

/** Share of the distance between cells that a layer carries when zones are made, percent, by layer id. */
export type ClusteringShares = ReadonlyMap<string, number>;

/**
 * What the layers of a field hold, for a terminal: one row a layer, how far they tell the same, and what the numbers say.
 *
 * @param width - Longest line, characters. Default 100.
 */
export function layersText(field: string, audit: LayersAudit, shares: ClusteringShares, width = 100): string {
  const {layers} = audit;
  const blocks = [
    [`${field}: ${layers.length} layers`],
    tableLines(
      [
        {head: ["layer"], align: "left", cells: layers.map(withUnit)},
        figures(["covers", "%"], layers, ({coveragePct}) => formatNumber(coveragePct, 1)),
        figures(["", "least"], layers, ({spread}) => amount(spread?.min, spread?.sd)),
        figures(["", "median"], layers, ({spread}) => amount(spread?.median, spread?.sd)),
        figures(["", "most"], layers, ({spread}) => amount(spread?.max, spread?.sd)),
        figures(["standard", "deviation"], layers, ({spread}) => amount(spread?.sd, spread?.sd)),
        figures(["Moran's", "I"], layers, ({moransI}) => (moransI === undefined ? "" : formatNumber(moransI, 2))),
        figures(["share of", "distance %"], layers, ({id}) => {
          const share = shares.get(id);
          return share === undefined ? "—" : formatNumber(share);
        }),
      ],
      width,
    ),
    ...layers.flatMap(({label, classes}) =>
      classes
        ? [wrapWords(`${label}: ${classes.map(({name, pct}) => `${name} ${formatNumber(pct)} %`).join(", ")}.`, width)]
        : [],
    ),
    correlationBlock(audit, width),
    ["Moran's I: near 1 smooth ground, near 0 noise. Share of distance: what decides which cells are alike."].flatMap(
      (line) => wrapWords(line, width),
    ),
  ];
  return `${blocks
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

function correlationBlock({layers, correlation: {ids, rows}}: LayersAudit, width: number): string[] {
  if (ids.length < 2) return [];
  const labels = ids.map((id) => layers.find((layer) => layer.id === id)?.label ?? id);
  return [
    "Rank correlation (Spearman)",
    "",
    ...tableLines(
      [
        {head: ["layer"], align: "left", cells: labels.map((label, i) => `${i + 1} ${label}`)},
        ...rows.slice(0, -1).map(
          (_, column): TextColumn => ({
            head: [String(column + 1)],
            align: "right",
            cells: rows.map((row, i) => (i > column ? formatNumber(row[column] as number, 2) : "")),
          }),
        ),
      ],
      width,
    ),
  ];
}

function withUnit({label, unit}: LayerAudit): string {
  return unit === "1" || unit === "class" ? label : `${label}, ${unit}`;
}

function figures(
  head: readonly string[],
  layers: readonly LayerAudit[],
  textOf: (layer: LayerAudit) => string,
): TextColumn {
  return {head, align: "right", cells: layers.map(textOf)};
}

/** As many decimals as tell a tenth of a standard deviation. */
function amount(value: number | undefined, sd: number | undefined): string {
  if (value === undefined || Number.isNaN(value)) return "";
  const decimals = sd && sd > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(sd)))) : 2;
  return formatNumber(value, decimals);
}
