import {FieldError} from "../../errors.ts";
import type {XmlElement} from "../xml.ts";
import {childrenOf, ddiOf, decimalOf, wholeOf} from "./attributes.ts";

/** One number at the start of every record, or the same for all records. */
export interface LogField {
  readonly name: "ms" | "day" | "lat" | "lon" | "upM" | "status" | "pdop" | "hdop" | "satellites" | "utcMs" | "utcDay";
  readonly bytes: 1 | 2 | 4;
  readonly signed: boolean;
  /** Numbers in a file are whole: this many make one. */
  readonly perUnit: number;
  /** Set when the header gives the value itself and the records leave it out. */
  readonly constant?: number;
}

export interface LoggedValue {
  readonly ddi: number;
  readonly element: string;
  readonly constant?: number;
}

/** How the records of a time log are laid out, as its header says. */
export interface LogLayout {
  readonly fields: readonly LogField[];
  readonly values: readonly LoggedValue[];
}

const TIME: readonly LogField[] = [
  {name: "ms", bytes: 4, signed: false, perUnit: 1},
  {name: "day", bytes: 2, signed: false, perUnit: 1},
];

/** Attributes of `PTN` in the order their numbers stand in a record. */
const POSITION: readonly (LogField & {readonly attribute: string})[] = [
  {attribute: "A", name: "lat", bytes: 4, signed: true, perUnit: 1e7},
  {attribute: "B", name: "lon", bytes: 4, signed: true, perUnit: 1e7},
  {attribute: "C", name: "upM", bytes: 4, signed: true, perUnit: 1000},
  {attribute: "D", name: "status", bytes: 1, signed: false, perUnit: 1},
  {attribute: "E", name: "pdop", bytes: 2, signed: false, perUnit: 10},
  {attribute: "F", name: "hdop", bytes: 2, signed: false, perUnit: 10},
  {attribute: "G", name: "satellites", bytes: 1, signed: false, perUnit: 1},
  {attribute: "H", name: "utcMs", bytes: 4, signed: false, perUnit: 1},
  {attribute: "I", name: "utcDay", bytes: 2, signed: false, perUnit: 1},
];

/**
 * Reads the header of a time log. An attribute that is there but empty stands in every record; one with a value holds
 * for all records; one that is not there was not logged.
 *
 * @throws {FieldError} `iso11783/bad-time-log`.
 */
export function logLayout(header: XmlElement, file: string): LogLayout {
  if (header.name !== "TIM") throw badHeader(file, `holds <${header.name.slice(0, 40)}>, not <TIM>`);
  if (header.attributes.A !== "") throw badHeader(file, "does not say that its records have a time");
  const position = childrenOf(header, "PTN")[0];
  const fields = position
    ? POSITION.flatMap(({attribute, ...field}): LogField[] => {
        const text = position.attributes[attribute];
        if (text === undefined) return [];
        if (text.trim() === "") return [field];
        const stated = decimalOf(position, attribute);
        if (stated === undefined) throw badHeader(file, `has "${text}" for attribute ${attribute} of its position`);
        // Heights are stated in millimetres; every other attribute in the unit it is used in.
        return [{...field, constant: field.name === "upM" ? stated / field.perUnit : stated}];
      })
    : [];
  const values = childrenOf(header, "DLV").map((element): LoggedValue => {
    const ddi = ddiOf(element, "A");
    if (ddi === undefined) throw badHeader(file, `has a value with the identifier "${element.attributes.A ?? ""}"`);
    const constant = wholeOf(element, "B", -(2 ** 31), 2 ** 31 - 1);
    return {ddi, element: element.attributes.C ?? "", ...(constant === undefined ? {} : {constant})};
  });
  return {fields: [...TIME, ...fields], values};
}

function badHeader(file: string, what: string): FieldError {
  return new FieldError("iso11783/bad-time-log", `${file} ${what}: its records cannot be read.`, {
    place: {file},
    hint: "Copy the whole TASKDATA folder from the terminal again.",
  });
}
