import type {Product, UnitRate} from "../prescription/prescription.ts";
import type {Recommendation, WorkingStep} from "../recommend/recommendation.ts";
import {formatShort} from "../units/format.ts";
import {wrapWords} from "./text-table.ts";

/** The product a rate goes out as, to carry its working on to what the machine spreads. */
export interface SpreadAs {
  readonly product: Product;
  readonly rate: UnitRate;
}

/**
 * How a rate came about: numbered steps with their sources, figures flush right, a double rule under the answer.
 *
 * Numbers from memory are marked at their step. With a product the steps run on to the rate of the machine.
 *
 * @param width - Longest line, characters. Default 80.
 */
export function workingText(recommendation: Recommendation, spreadAs?: SpreadAs, width = 80): string {
  const {unit, nutrient, guide, rateLbPerAcre, testClass, working, issues} = recommendation;
  const needed: Result = {text: `${nutrient}: ${testClass}`, value: rateLbPerAcre, unit: `lb ${nutrient}/ac`};
  const spread: Result[] = spreadAs
    ? [{text: spreadAs.product.analysis, value: spreadAs.rate.rateLbPerAcre, unit: "lb/ac"}]
    : [];
  const productSteps = spreadAs?.rate.working ?? [];
  const page = pageFor([...working, ...productSteps, needed, ...spread], width);
  const steps = [...working, ...productSteps].map((step, i) => stepLines(step, i + 1, page));
  const rule = "─".repeat(width);
  const doubleRule = "═".repeat(width);
  const lines = [
    `${unit}, ${nutrient}`,
    ...wrapWords(`${guide.title}, ${guide.edition}`, width),
    "",
    ...steps.slice(0, working.length).flat(),
    rule,
    ...figureLines(needed.text, needed, page),
    ...(spread.length > 0 ? [rule, ...steps.slice(working.length).flat(), rule] : []),
    ...spread.flatMap((result) => figureLines(result.text, result, page)),
    doubleRule,
    ...issues.flatMap(({message, hint}) => ["", ...wrapWords(hint ? `${message} ${hint}` : message, width)]),
  ];
  return `${lines.join("\n")}\n`;
}

interface Figure {
  readonly value: number;
  readonly unit: string;
}

interface Result extends Figure {
  readonly text: string;
}

/** Where figures and units stand, so that they line up over the whole page. */
interface Page {
  readonly width: number;
  readonly textWidth: number;
  readonly valueWidth: number;
  readonly unitWidth: number;
}

function pageFor(figures: readonly Figure[], width: number): Page {
  const longest = (texts: readonly string[]): number => texts.reduce((most, text) => Math.max(most, text.length), 0);
  const valueWidth = longest(figures.map(({value}) => formatShort(value, 2)));
  const unitWidth = longest(figures.map(({unit}) => unit));
  return {width, valueWidth, unitWidth, textWidth: width - valueWidth - unitWidth - 3};
}

function stepLines(step: WorkingStep, number: number, page: Page): string[] {
  const margin = "    ";
  const [first = "", ...more] = figureLines(step.text, step, {...page, textWidth: page.textWidth - margin.length});
  const source = step.basis === "from memory" ? `${step.source}; from memory, check against the bulletin` : step.source;
  return [
    `${String(number).padStart(2)}  ${first}`,
    ...more.map((line) => margin + line),
    ...wrapWords(source, page.width - margin.length - 2).map((line) => `${margin}  ${line}`),
  ];
}

/** The figure stands on the first line of its text. */
function figureLines(text: string, {value, unit}: Figure, page: Page): string[] {
  const [first = "", ...more] = wrapWords(text, page.textWidth);
  const figure = formatShort(value, 2).padStart(page.valueWidth);
  return [`${first.padEnd(page.textWidth)}  ${figure} ${unit}`, ...more];
}
