import type {FieldSummary} from "../book/fields.ts";
import type {FieldHistory} from "../book/history.ts";
import type {Check} from "../book/verify.ts";
import {tableLines} from "../report/text-table.ts";
import {formatNumber} from "../units/format.ts";

// What the book commands say.

const WIDTH = 112;

export function fieldsText(fields: readonly FieldSummary[]): string {
  if (fields.length === 0) return 'The book is empty. Put jobs into it with "loamwright book import".';
  const farms = new Set(fields.map(({farm}) => farm));
  const left = (head: string[], cells: string[]) => ({head, cells, align: "left" as const});
  const right = (head: string[], cells: string[]) => ({head, cells, align: "right" as const});
  return tableLines(
    [
      left(
        ["Field"],
        fields.map(({farm, name}) => (farms.size > 1 && farm !== "" ? `${farm}/${name}` : name)),
      ),
      right(
        ["acres"],
        fields.map(({acres}) => acres.toFixed(1)),
      ),
      right(
        ["files"],
        fields.map(({sources}) => String(sources)),
      ),
      right(
        ["results,", "version"],
        fields.map(({current, versions}) => (current ? `${current.version} of ${versions}` : "none")),
      ),
      left(
        ["made"],
        fields.map(({current}) => current?.madeAt.slice(0, 10) ?? ""),
      ),
      left(
        ["stale"],
        fields.map(({current, stale}) => (!current ? "" : stale.length === 0 ? "no" : firstReason(stale))),
      ),
    ],
    WIDTH,
  ).join("\n");
}

export function historyText({field, seasons, versions, sources}: FieldHistory): string {
  const lines = [field.farm === "" ? field.name : `${field.name}, ${field.farm}`];
  if (seasons.length > 0) {
    lines.push(
      "",
      `Seasons: ${seasons.map(({year, what, crop}) => `${year} ${crop === "" ? what : `${crop} (${what})`}`).join(", ")}`,
    );
  }
  lines.push("", "Results");
  if (versions.length === 0) lines.push("  none yet");
  for (const {version, current, madeAt, madeBy, program, seed, prunedAt, files, bytes, stale} of versions) {
    const state = prunedAt ? `pruned ${prunedAt.slice(0, 10)}` : `${files} files, ${megabytes(bytes)}`;
    lines.push(
      `  ${current ? "*" : " "} ${version}  ${moment(madeAt)} by ${madeBy}, program ${program}, seed ${seed}: ${state}`,
    );
    if (current) for (const {step, reasons} of stale) lines.push(`       stale: ${step} (${reasons.join("; ")})`);
  }
  lines.push("", "Files");
  for (const {name, version, current, size, sha256, addedAt, addedBy} of sources) {
    lines.push(
      `  ${current ? "*" : " "} ${name} ${version}  ${formatNumber(size)} bytes, ${sha256.slice(0, 12)}, ${moment(addedAt)} by ${addedBy}`,
    );
  }
  return lines.join("\n");
}

export function checksText(checks: readonly Check[]): string {
  return checks
    .flatMap(({what, looked, faults}) => [
      `${faults.length === 0 ? "good " : "FAULT"}  ${what} (${looked})`,
      ...faults.map((fault) => `         ${fault}`),
    ])
    .join("\n");
}

/** "zones and 7 more: yield-2025.csv has changed". */
function firstReason(stale: FieldSummary["stale"]): string {
  const [first] = stale;
  const more = stale.length > 1 ? ` and ${stale.length - 1} more` : "";
  return first ? `${first.step}${more}: ${first.reasons[0]}` : "";
}

const moment = (at: string): string => `${at.slice(0, 16).replace("T", " ")} UTC`;
const megabytes = (bytes: number): string => `${(bytes / 1e6).toFixed(2)} MB`;
