import type {XmlElement} from "../xml.ts";

/** Lists of the JSON form, and what one of theirs is called in the XML form. */
const ITEMS: Readonly<Record<string, string>> = {
  Events: "Event",
  SoilSamples: "SoilSample",
  DepthRefs: "DepthRef",
  Depths: "Depth",
  NutrientResults: "NutrientResult",
};
/** What the key of an item means, where a list is written as an object with keys. */
const KEY_OF: Readonly<Record<string, string>> = {DepthRef: "DepthID", Depth: "DepthID", NutrientResult: "Element"};

const MOST_DEPTH = 64;

/**
 * The JSON form of a Modus document as the element tree its XML form would give, so that one reader serves both.
 *
 * Lists may be arrays or objects keyed by id; plain values become elements with text.
 */
export function jsonTree(value: unknown, name = "ModusResult", depth = 0): XmlElement {
  if (depth > MOST_DEPTH || typeof value !== "object" || value === null) return leaf(name, value);
  const children = Object.entries(value).flatMap(([key, part]) => {
    const item = ITEMS[key];
    if (item) return [{...leaf(key, ""), children: items(part, item, depth)}];
    if (Array.isArray(part)) return part.map((one) => jsonTree(one, key, depth + 1));
    return [jsonTree(part, key, depth + 1)];
  });
  return {name, attributes: {}, children, text: ""};
}

function items(list: unknown, name: string, depth: number): XmlElement[] {
  if (Array.isArray(list)) return list.map((one) => jsonTree(one, name, depth + 2));
  if (typeof list !== "object" || list === null) return [];
  const keyName = KEY_OF[name];
  return Object.entries(list).map(([key, one]) => {
    const element = jsonTree(one, name, depth + 2);
    const hasKey = keyName === undefined || element.children.some((child) => child.name === keyName);
    return hasKey ? element : {...element, children: [...element.children, leaf(keyName, key)]};
  });
}

function leaf(name: string, value: unknown): XmlElement {
  const isPlain = typeof value === "string" || typeof value === "number" || typeof value === "boolean";
  return {name, attributes: {}, children: [], text: isPlain ? String(value) : ""};
}
