import type {Issue} from "../../errors.ts";
import type {XmlElement} from "../xml.ts";
import {childrenOf, ddiOf, decimalOf, textOf, wholeOf, zoneCodeOf} from "./attributes.ts";
import {dataItem, ddiText, type Presentation, rightScale} from "./data-dictionary.ts";
import {readPolygons} from "./read-polygons.ts";
import type {Refer} from "./references.ts";
import type {ReadZone, ZoneValue} from "./task-data.ts";

/** The treatment zones of a task in the file's order. */
export function readZones(task: XmlElement, taskName: string, refer: Refer, issues: Issue[]): ReadZone[] {
  const zones = childrenOf(task, "TZN").flatMap((element): ReadZone[] => {
    const code = zoneCodeOf(element, "A");
    if (code === undefined) {
      issues.push(zoneIssue("bad-zone-code", `${taskName} has a zone with the code "${element.attributes.A ?? ""}".`));
      return [];
    }
    const whose = `zone ${code} of ${taskName}`;
    const values = childrenOf(element, "PDV").flatMap((value) => readValue(value, whose, refer, issues));
    const shape = readPolygons(childrenOf(element, "PLN"), whose, issues);
    return [{code, name: textOf(element, "B") ?? "", shape, values}];
  });
  checkZones(zones, taskName, issues);
  return zones;
}

function readValue(element: XmlElement, whose: string, refer: Refer, issues: Issue[]): ZoneValue[] {
  const ddi = ddiOf(element, "A");
  const raw = wholeOf(element, "B", -(2 ** 31), 2 ** 31 - 1);
  if (ddi === undefined || raw === undefined) {
    const what =
      ddi === undefined
        ? `the identifier "${element.attributes.A ?? ""}"`
        : `the value "${element.attributes.B ?? ""}"`;
    issues.push(zoneIssue("bad-value", `A value of ${whose} was left out: ${what} cannot be read.`));
    return [];
  }
  if (element.children.some((child) => child.name === "PDV")) {
    issues.push({
      code: "iso11783/mixture",
      severity: "note",
      message: `Rates of the parts of a mixture in ${whose} were left out; the rate of the mixture was kept.`,
    });
  }
  const {unit, perUnit} = dataItem(ddi);
  const product = refer(element, "C", "PDT", whose);
  const part = refer(element, "D", "DET", whose);
  const shown =
    refer(element, "E", "VPN", whose) ?? (product && refer(product, "D", "VPN", product.attributes.A ?? "A product"));
  const presentation = shown && readPresentation(shown, ddi, issues);
  return [
    {
      ddi,
      raw,
      value: raw / perUnit,
      unit,
      ...(product ? {product: textOf(product, "B") ?? (product.attributes.A as string)} : {}),
      ...(part ? {element: part.attributes.A as string} : {}),
      ...(presentation ? {presentation} : {}),
    },
  ];
}

/** How values are shown, with a warning where the scale contradicts the unit it names. */
function readPresentation(element: XmlElement, ddi: number, issues: Issue[]): Presentation | undefined {
  const offset = decimalOf(element, "B");
  const scale = decimalOf(element, "C");
  const decimals = wholeOf(element, "D", 0, 7);
  if (offset === undefined || scale === undefined || decimals === undefined) return undefined;
  const unit = textOf(element, "E") ?? "";
  const right = rightScale(ddi, unit);
  const message = `${element.attributes.A} shows DDI ${ddiText(ddi)} in ${unit} by a scale of ${scale}; the unit asks for ${right?.toPrecision(6)}.`;
  if (right !== undefined && Math.abs(scale / right - 1) > 0.01 && !issues.some((issue) => issue.message === message)) {
    issues.push({
      code: "iso11783/presentation-scale",
      severity: "warning",
      message,
      hint: "Trust the rates given here, which follow the data dictionary, and check them with whoever made the file.",
    });
  }
  return {offset, scale, decimals, unit};
}

function checkZones(zones: readonly ReadZone[], taskName: string, issues: Issue[]): void {
  const codes = zones.map((zone) => zone.code);
  const twice = [...new Set(codes.filter((code, i) => codes.indexOf(code) !== i))];
  if (twice.length > 0) {
    issues.push(zoneIssue("duplicate-zone", `${taskName} has more than one zone with the code ${twice.join(", ")}.`));
  }
}

function zoneIssue(what: string, message: string): Issue {
  return {code: `iso11783/${what}`, severity: "error", message, hint: "Export the task again where it was made."};
}
