import {formatShort} from "../units/format.ts";
import {needInWords} from "./fit-test.ts";
import type {BuildupRule, Cited, Guide, GuideCrop, NutrientRule} from "./guide.ts";
import {recommend} from "./recommend.ts";
import type {Recommendation} from "./recommendation.ts";

/**
 * A guide's page in Markdown: what it needs, every limit, coefficient and equation with its basis, and one example
 * worked out by the same code that makes the rates. Made from the guide's data, so it cannot say anything else.
 */
export function describeGuide(guide: Guide): string {
  const example = recommend(guide, {unit: "example", ...guide.example});
  return [
    `# ${guide.title}, ${guide.edition}`,
    `${guide.authors.join(", ")}. ${guide.publication}. For ${guide.region}. Guide id: \`${guide.id}\`.`,
    "This page is made from the guide's data in the program. Numbers marked *from memory* were not seen in print and must be checked against the bulletin before they are relied on; the others were seen in the places named at the end, which are not the bulletin itself. Check every plan against local nutrient-management and setback rules, and have a licensed or certified adviser sign it.",
    "## What it is for",
    list(guide.validity),
    ...guide.nutrients.flatMap((rule) => describeRule(rule, guide.crops)),
    "## Several crops from one application",
    `Rates are per crop year; one application may serve at most ${cited(guide.mostCropYears)} crop years and gets the sum of their rates. Crops of the same year share that year's buildup${guide.nutrients.some((rule) => rule.perCropYear) ? " and constant" : ""}.`,
    `## Example: ${guide.example.crops.map(({crop, yieldGoal}) => `${crop} ${formatShort(yieldGoal)}`).join(", then ")}`,
    ...example.flatMap(describeWorking),
    "## Where the numbers come from",
    list(guide.sources.map(({title, gives}) => `${title}: ${gives}.`)),
    "",
  ].join("\n\n");
}

function describeRule(rule: NutrientRule, crops: readonly GuideCrop[]): string[] {
  const {nutrient, test, limits, buildup, perCropYear, cec} = rule;
  const cecColumn = limits.some((row) => row.cec !== undefined);
  const notes = [
    ...limits.flatMap((row) => [note("Critical level", row.critical), note("Maintenance limit", row.maintenance)]),
    ...(cec ? [note("CEC boundary", cec.boundary)] : []),
    note("Buildup", buildup.base),
    ...(buildup.perCec ? [note("Buildup by CEC", buildup.perCec)] : []),
    ...(perCropYear ? [note("Constant", perCropYear)] : []),
    ...crops.map(({id, removal}) => removal[nutrient] && note(`Removal of ${id}`, removal[nutrient])),
  ].filter((text) => text !== undefined);
  return [
    `## ${nutrient} from soil-test ${test.analyte}`,
    `Needs ${needInWords(test)}${cec ? ", and the CEC in meq/100 g" : ""}. Any other method, unit or depth is refused.`,
    table(
      ["crops", ...(cecColumn ? ["CEC, meq/100 g"] : []), `critical level, ${test.unitLabel}`, "maintenance limit"],
      limits.map((row) => [
        row.crops.join(", "),
        ...(cecColumn ? [cecInWords(rule, row.cec)] : []),
        cited(row.critical),
        cited(row.maintenance),
      ]),
    ),
    limits.some((row) => row.crops.length < crops.length)
      ? "The highest critical level among the crops of a rotation holds for all of them."
      : "The same for all crops of the guide.",
    table(
      ["soil test", "class", `lb ${nutrient} per acre and crop year`],
      [
        ["below the critical level", rule.classes[0], `${buildupEquation(rule)} + ${removalEquation(rule)}`],
        ["from there to the maintenance limit", rule.classes[1], removalEquation(rule)],
        ["at the maintenance limit and above", rule.classes[2], "0"],
      ],
    ),
    table(
      ["crop", `lb ${nutrient} removed per unit of harvest`],
      crops.flatMap(({id, yieldUnit, removal}) => {
        const coefficient = removal[nutrient];
        return coefficient ? [[`${id}, ${yieldUnit.split("/")[0]}`, cited(coefficient)]] : [];
      }),
    ),
    ...(notes.length > 0 ? [list(notes)] : []),
    ...(cec
      ? [
          `The buildup slope was fitted for CEC ${cec.fittedFor.from} to ${cec.fittedFor.to} (${cec.fittedFor.basis}). Outside it the rate carries a warning; a setting holds the CEC within that range, which is not part of the guide.`,
        ]
      : []),
  ];
}

function buildupEquation({test, buildup: {base, perCec}}: BuildupRule): string {
  const slope = perCec ? `(${cited(base)} + ${cited(perCec)} × CEC)` : cited(base);
  return `(critical level − ${test.analyte}) × ${slope}`;
}

function removalEquation({perCropYear}: BuildupRule): string {
  return `yield goal × removal${perCropYear ? ` + ${cited(perCropYear)}` : ""}`;
}

function cecInWords({cec}: BuildupRule, side: "low" | "high" | undefined): string {
  if (!cec || !side) return "all";
  return `${side === "low" ? "at most" : "above"} ${cited(cec.boundary)}`;
}

function describeWorking({nutrient, rateLbPerAcre, testClass, working, issues}: Recommendation): string[] {
  return [
    `${nutrient}: **${formatShort(rateLbPerAcre, 1)} lb/ac**, ${testClass}.`,
    table(
      ["step", "value", "unit", "source", "basis"],
      working.map(({text, value, unit, source, basis}) => [text, formatShort(value), unit, source, basis]),
    ),
    ...(issues.length > 0 ? [list(issues.map(({message}) => message))] : []),
  ];
}

const cited = ({value, basis}: Cited): string =>
  basis === "printed" ? formatShort(value) : `${formatShort(value)} *(${basis})*`;

function note(what: string, {note: text}: Cited): string | undefined {
  return text && `${what}: ${text}.`;
}

const list = (items: readonly string[]): string => items.map((item) => `- ${item}`).join("\n");

function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]): string => `| ${cells.join(" | ")} |`;
  return [line(head), line(head.map(() => "---")), ...rows.map(line)].join("\n");
}
