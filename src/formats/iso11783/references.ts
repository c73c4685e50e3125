import type {Issue} from "../../errors.ts";
import type {XmlElement} from "../xml.ts";

/** Looks up what an attribute refers to; a dangling reference is remarked on, once. */
export type Refer = (from: XmlElement, attribute: string, tag: string, whose: string) => XmlElement | undefined;

/**
 * Everything in the file that has an id of its own.
 *
 * Ids with a minus sign, which machines give, are ids like any other. Of two elements with one id the first counts.
 */
export function references(root: XmlElement, issues: Issue[]): Refer {
  const known = new Map<string, XmlElement>();
  for (const element of root.children.flatMap((child) => [child, ...child.children])) {
    const id = element.attributes.A;
    if (id === undefined || /^([A-Z]{3})-?\d+$/.exec(id)?.[1] !== element.name) continue;
    if (known.has(id)) {
      issues.push({
        code: "iso11783/duplicate-id",
        severity: "error",
        message: `The id ${id} is used twice; references to it may mean either.`,
        hint: "Export the task data again; two files may have been merged.",
      });
    } else {
      known.set(id, element);
    }
  }
  const told = new Set<string>();
  return (from, attribute, tag, whose) => {
    const id = from.attributes[attribute]?.trim();
    if (!id) return undefined;
    const found = known.get(id);
    if (found?.name === tag) return found;
    const subject = whose.charAt(0).toUpperCase() + whose.slice(1);
    const message = found
      ? `${subject} refers to ${id}, which is not the kind of thing meant there.`
      : `${subject} refers to ${id}, which is not in the file.`;
    if (!told.has(message)) {
      told.add(message);
      issues.push({
        code: "iso11783/dangling-reference",
        severity: "error",
        message,
        hint: "Export the task data again, with everything the task uses.",
      });
    }
    return undefined;
  };
}
