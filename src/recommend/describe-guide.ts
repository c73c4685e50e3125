import {formatShort} from "../units/format.ts";
import {describeRule} from "./describe-rule.ts";
import type {Guide} from "./guide.ts";
import {cited, list, table} from "./markdown.ts";
import {findRelation} from "./method-relations.ts";
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
    ...guide.nutrients.flatMap((rule) => describeRule(rule, guide)),
    ...conversions(guide),
    ...levels(guide),
    "## Several crops from one application",
    several(guide),
    `## Example: ${guide.example.crops.map(({crop, yieldGoal}) => `${crop} ${formatShort(yieldGoal)}`).join(", then ")}`,
    ...example.flatMap(describeWorking),
    "## Where the numbers come from",
    list(guide.sources.map(({title, gives}) => `${title}: ${gives}.`)),
    "",
  ].join("\n\n");
}

function conversions({conversions: ids = []}: Guide): string[] {
  if (ids.length === 0) return [];
  return [
    "## Tests by other methods",
    "Never converted unless asked, and then only by one of these published relations, with a warning beside the rate. The first that fits the test is the default.",
    table(
      ["relation", "from", "to", "arithmetic", "source", "fitted on"],
      ids.map((id) => {
        const {analyte, from, to, rule, source, where} = findRelation(id);
        return [`\`${id}\``, `${analyte} by ${from.join(" or ")}`, to, rule, source, where];
      }),
    ),
  ];
}

function levels({levels: published = []}: Guide): string[] {
  if (published.length === 0) return [];
  return [
    "## Levels published elsewhere",
    "From these on the same service expects no response. They stand in other documents than the rules above and are shown for comparison only.",
    table(
      ["crops", "test", "level, ppm", "source"],
      published.map(({crops, analyte, method, level, source}) => [
        crops.join(", "),
        `${analyte} by ${method}`,
        cited(level),
        source,
      ]),
    ),
  ];
}

function several({mostCropYears, nutrients}: Guide): string {
  const rule = `one application may serve at most ${cited(mostCropYears)} crop years`;
  const note = mostCropYears.note ? ` (${mostCropYears.note})` : "";
  if (nutrients.every(({kind}) => kind === "buildup and maintenance")) {
    const constant = nutrients.some((r) => r.kind === "buildup and maintenance" && r.perCropYear)
      ? " and constant"
      : "";
    return `Rates are per crop year; ${rule}${note} and gets the sum of their rates. Crops of the same year share that year's buildup${constant}.`;
  }
  return `Rates are per crop; ${rule}${note} and gets the sum of their rates, but where the guide has one rate for them together.`;
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
