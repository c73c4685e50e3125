import type {XmlElement} from "../xml.ts";

// Attributes of elements as numbers. Anything but a plain number, an empty text included, is `undefined`.

/** A whole number between two bounds. */
export function wholeOf(element: XmlElement, name: string, least: number, most: number): number | undefined {
  const text = element.attributes[name]?.trim();
  if (text === undefined || !/^[-+]?\d{1,15}$/.test(text)) return undefined;
  const value = Number(text);
  return value >= least && value <= most ? value : undefined;
}

/** A decimal number; an exponent is tolerated, since programs write it although the format forbids it. */
export function decimalOf(element: XmlElement, name: string): number | undefined {
  const text = element.attributes[name]?.trim();
  if (text === undefined || text.length > 64 || !/^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d{1,3})?$/i.test(text))
    return undefined;
  const value = Number(text);
  return Number.isFinite(value) ? value : undefined;
}

/** A data dictionary identifier: up to four hexadecimal digits. */
export function ddiOf(element: XmlElement, name: string): number | undefined {
  const text = element.attributes[name]?.trim();
  return text !== undefined && /^[0-9a-f]{1,4}$/i.test(text) ? Number.parseInt(text, 16) : undefined;
}

/** A zone code, 0 to 254. */
export function zoneCodeOf(element: XmlElement, name: string): number | undefined {
  return wholeOf(element, name, 0, 254);
}

/** A text that is there and not blank. */
export function textOf(element: XmlElement, name: string): string | undefined {
  return element.attributes[name]?.trim() || undefined;
}

export function childrenOf(element: XmlElement, name: string): readonly XmlElement[] {
  return element.children.filter((child) => child.name === name);
}
