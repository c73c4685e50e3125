import {parseXml, type XmlElement} from "../../src/formats/xml.ts";

// What the GPX 1.1 schema (topografix.com/GPX/1/1/gpx.xsd) asks of a document, as far as these files go: written out by
// hand from its documentation, because the schema itself may not be shipped.

const POINT =
  "ele time magvar geoidheight name cmt desc src link sym type fix sat hdop vdop pdop ageofdgpsdata dgpsid extensions";
const ORDER: Record<string, readonly string[]> = {
  gpx: "metadata wpt rte trk extensions".split(" "),
  metadata: "name desc author copyright link time keywords bounds extensions".split(" "),
  wpt: POINT.split(" "),
  rtept: POINT.split(" "),
  trkpt: POINT.split(" "),
  rte: "name cmt desc src link number type extensions rtept".split(" "),
  trk: "name cmt desc src link number type extensions trkseg".split(" "),
  trkseg: "trkpt extensions".split(" "),
};
const MANY = new Set(["wpt", "rte", "trk", "rtept", "trkseg", "trkpt", "link"]);

/** Everything in a document that breaks a rule. */
export function gpxFaults(bytes: Uint8Array): string[] {
  const faults: string[] = [];
  const root = parseXml(bytes, "test.gpx");
  if (root.name !== "gpx") faults.push(`root ${root.name}`);
  if (root.attributes.xmlns !== "http://www.topografix.com/GPX/1/1") faults.push("namespace");
  if (root.attributes.version !== "1.1") faults.push("version");
  if (!root.attributes.creator) faults.push("creator");
  walk(root, faults);
  return faults;
}

function walk(element: XmlElement, faults: string[]): void {
  const order = ORDER[element.name];
  if (!order) {
    if (element.children.length > 0) faults.push(`children of ${element.name}`);
    if (
      element.name === "time" &&
      !/^-?\d{4,}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[-+]\d\d:\d\d)?$/.test(element.text)
    ) {
      faults.push(`time ${element.text}`);
    }
    return;
  }
  let last = -1;
  for (const child of element.children) {
    const at = order.indexOf(child.name);
    if (at < 0) faults.push(`${child.name} in ${element.name}`);
    if (at < last || (at === last && !MANY.has(child.name))) faults.push(`order of ${child.name} in ${element.name}`);
    last = Math.max(last, at);
    walk(child, faults);
  }
  if (!["wpt", "rtept", "trkpt"].includes(element.name)) return;
  for (const [name, low, high] of [
    ["lat", -90, 90],
    ["lon", -180, 180],
  ] as const) {
    const text = element.attributes[name] ?? "";
    const value = Number(text);
    // xsd:decimal has no exponent; 180 itself is not a longitude.
    if (!/^[-+]?(\d+(\.\d*)?|\.\d+)$/.test(text) || value < low || value > high || (name === "lon" && value === 180)) {
      faults.push(`${name} ${text}`);
    }
  }
}
