import {formatArea, formatNumber} from "../units/format.ts";
import {squareMetres} from "../units/quantity.ts";
import type {EditOutcome} from "../zones/edit/zone-edit.ts";
import type {Explained, Judgement, KeptBack} from "../zones/judge/judgement.ts";
import type {ZoneProfile} from "../zones/profile.ts";
import {type TextColumn, tableLines, wrapWords} from "./text-table.ts";

export interface ZonesFindings {
  readonly field: string;
  /** Where the number of zones was chosen: counts side by side, and the reason in a sentence. */
  readonly choice?: {readonly columns: readonly TextColumn[]; readonly sentence: string};
  readonly edits: readonly EditOutcome[];
  readonly profile: readonly ZoneProfile[];
  readonly judgement?: Judgement;
  /** Label and unit of layers by id. */
  readonly layerNames: ReadonlyMap<string, string>;
}

/**
 * The zones of a field for a terminal: how many and why, what each is like, what they explain, and the verdict.
 *
 * @param width - Longest line, characters. Default 100.
 */
export function zonesText(found: ZonesFindings, width = 100): string {
  const {field, choice, edits, profile, judgement, layerNames} = found;
  const blocks = [
    [`${field}: ${profile.length} ${profile.length === 1 ? "zone" : "zones"}`],
    ...(choice
      ? [["How many zones", "", ...tableLines(choice.columns, width)], wrapWords(choice.sentence, width)]
      : []),
    editLines(edits, width),
    profileLines(profile, width),
    layerLines(profile, layerNames, width),
    classLines(profile, layerNames, width),
    ...(judgement ? judgementBlocks(judgement, width) : []),
  ];
  return `${blocks
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

function editLines(edits: readonly EditOutcome[], width: number): string[] {
  if (edits.length === 0) return [];
  const made = edits.filter(({applied}) => applied).length;
  const left = edits.filter(({applied}) => !applied);
  return [
    `${made} of ${edits.length} edits made.`,
    ...left.flatMap(({number, edit, reason}) => wrapWords(`Edit ${number} (${edit}) was left out: ${reason}.`, width)),
  ];
}

function profileLines(profile: readonly ZoneProfile[], width: number): string[] {
  const figures = (head: string[], text: (zone: ZoneProfile) => string): TextColumn => ({
    head,
    align: "right",
    cells: profile.map(text),
  });
  return tableLines(
    [
      {
        head: ["zone"],
        align: "left",
        cells: profile.map(({id, label}) => (label === `Zone ${id}` ? `${id}` : `${id} ${label}`)),
      },
      figures(["", "ac"], ({area}) => acres(area)),
      figures(["of field", "%"], ({share}) => percent(share)),
      figures(["", "pieces"], ({pieces}) => String(pieces)),
      figures(["clear of", "others %"], ({core}) => percent(core)),
      ...(profile.some(({position}) => position)
        ? [{head: ["lies on"], align: "left", cells: profile.map(({position}) => position ?? "—")} as const]
        : []),
    ],
    width,
  );
}

/** Mean and standard deviation of each layer in each zone. */
function layerLines(profile: readonly ZoneProfile[], names: ReadonlyMap<string, string>, width: number): string[] {
  const ids = Object.keys(profile[0]?.layers ?? {});
  if (ids.length === 0) return [];
  return [
    "Mean and standard deviation in each zone",
    "",
    ...tableLines(
      [
        {head: ["layer"], align: "left", cells: ids.map((id) => names.get(id) ?? id)},
        ...profile.map(
          ({id, layers}): TextColumn => ({
            head: [`zone ${id}`],
            align: "right",
            cells: ids.map((layer) => {
              const own = layers[layer];
              return own && !Number.isNaN(own.mean) ? `${amount(own.mean, own.sd)} ± ${amount(own.sd, own.sd)}` : "—";
            }),
          }),
        ),
      ],
      width,
    ),
  ];
}

function classLines(profile: readonly ZoneProfile[], names: ReadonlyMap<string, string>, width: number): string[] {
  const ids = Object.keys(profile[0]?.classShares ?? {});
  return ids.flatMap((id) => [
    `${names.get(id)?.replace(/, class$/, "") ?? id}, percent of each zone`,
    ...profile.flatMap((zone) => {
      const shares = Object.entries(zone.classShares[id] ?? {}).sort(([, a], [, b]) => b - a);
      const told = shares.filter(([, share]) => share >= 0.005).map(([name, share]) => `${name} ${percent(share)}`);
      return wrapWords(`${zone.id}: ${told.join(", ")}`, width - 2).map((line) => `  ${line}`);
    }),
  ]);
}

function judgementBlocks({madeFrom, keptBack, verdict}: Judgement, width: number): string[][] {
  return [
    keptBack.length === 0
      ? []
      : [
          "What zones explain of the variance of what they were not made from",
          "",
          ...tableLines(keptColumns(keptBack), width),
        ],
    madeFrom.length === 0
      ? []
      : [
          "Of the layers they were made from, which any zones explain in part",
          "",
          ...tableLines(madeColumns(madeFrom), width),
        ],
    ["Verdict", "", ...verdict.flatMap((sentence) => wrapWords(sentence, width))],
  ];
}

function keptColumns(rows: readonly KeptBack[]): TextColumn[] {
  const figures = (head: string[], text: (row: KeptBack) => string): TextColumn => ({
    head,
    align: "right",
    cells: rows.map(text),
  });
  return [
    {head: ["kept back"], align: "left", cells: rows.map(({label}) => label)},
    figures(["", "values"], ({count}) => formatNumber(count)),
    figures(["explained", "%"], ({explained}) => percent(explained)),
    figures(["adjusted", "%"], ({adjusted}) => percent(adjusted)),
    figures(["by chance", "mean %"], ({byChance}) => percent(byChance.mean)),
    figures(["by chance", "under %"], ({byChance}) => percent(byChance.high)),
    figures(["", "p"], ({byChance}) => byChance.p.toFixed(3)),
    figures(["like the", "map"], ({likeMap}) => (likeMap === undefined ? "" : likeMap.toFixed(2))),
  ];
}

function madeColumns(rows: readonly Explained[]): TextColumn[] {
  return [
    {head: ["layer"], align: "left", cells: rows.map(({label}) => label)},
    {head: ["explained", "%"], align: "right", cells: rows.map(({explained}) => percent(explained))},
  ];
}

const percent = (share: number): string => (Number.isNaN(share) ? "—" : formatNumber(100 * share, 1));
const acres = (areaM2: number): string => formatArea(squareMetres(areaM2)).replace(/ ac$/, "");

/** As many decimals as the spread makes worth reading: two figures of it. */
function amount(value: number, spread: number): string {
  const decimals = spread > 0 ? Math.max(0, Math.min(4, 1 - Math.floor(Math.log10(spread)))) : 1;
  return formatNumber(value, decimals);
}
