/** What an attribute may hold. */
export type AttributeRule =
  | {readonly is: "id"}
  | {readonly is: "reference"; readonly to: string}
  | {readonly is: "text"}
  | {readonly is: "whole"; readonly least: number; readonly most: number}
  | {readonly is: "decimal"; readonly least: number; readonly most: number; readonly places?: number}
  | {readonly is: "identifier"}
  | {readonly is: "one of"; readonly values: readonly string[]}
  | {readonly is: "file"};

export interface ElementRule {
  readonly required: Readonly<Record<string, AttributeRule>>;
  readonly optional?: Readonly<Record<string, AttributeRule>>;
  /** How often each child may stand: at least and at most. */
  readonly children?: Readonly<Record<string, readonly [least: number, most: number]>>;
}

const id: AttributeRule = {is: "id"};
const text: AttributeRule = {is: "text"};
const to = (tag: string): AttributeRule => ({is: "reference", to: tag});
const whole = (least: number, most: number): AttributeRule => ({is: "whole", least, most});
const oneOf = (...values: string[]): AttributeRule => ({is: "one of", values});
const code = whole(0, 254);
const area = whole(0, 2 ** 32 - 2);
const north: AttributeRule = {is: "decimal", least: -90, most: 90, places: 9};
const east: AttributeRule = {is: "decimal", least: -180, most: 180, places: 9};
const degreeSize: AttributeRule = {is: "decimal", least: 0, most: 1};
const any = Number.POSITIVE_INFINITY;

/**
 * The elements a rate map is written with, and what each may hold: after the published XML schemas 3.3 and 4.3, where
 * both agree, and narrower where the schemas let through what no terminal can use (two polygons in a zone).
 */
export const ELEMENT_RULES: Readonly<Record<string, ElementRule>> = {
  ISO11783_TaskData: {
    required: {
      VersionMajor: oneOf("3", "4"),
      VersionMinor: oneOf("0", "1", "2", "3"),
      ManagementSoftwareManufacturer: text,
      ManagementSoftwareVersion: text,
      DataTransferOrigin: oneOf("1", "2"),
    },
    children: {CTR: [0, any], FRM: [0, any], PFD: [0, any], PDT: [0, any], VPN: [0, any], TSK: [0, any]},
  },
  CTR: {required: {A: id, B: text}, optional: {C: text}},
  FRM: {required: {A: id, B: text}, optional: {I: to("CTR")}},
  PFD: {
    required: {A: id, C: text, D: area},
    optional: {B: text, E: to("CTR"), F: to("FRM"), I: to("PFD")},
    children: {PLN: [0, any]},
  },
  PDT: {required: {A: id, B: text}, optional: {D: to("VPN")}},
  VPN: {
    required: {
      A: id,
      B: whole(-(2 ** 31), 2 ** 31 - 1),
      C: {is: "decimal", least: 1e-9, most: 1e8},
      D: whole(0, 7),
    },
    optional: {E: text},
  },
  TSK: {
    required: {A: id, G: oneOf("1", "2", "3", "4", "5", "6")},
    optional: {B: text, C: to("CTR"), D: to("FRM"), E: to("PFD"), H: code, I: code, J: code},
    children: {TZN: [0, 255], GRD: [0, 1]},
  },
  TZN: {required: {A: code}, optional: {B: text, C: code}, children: {PLN: [0, 1], PDV: [1, any]}},
  PDV: {
    required: {A: {is: "identifier"}, B: whole(-(2 ** 31), 2 ** 31 - 1)},
    optional: {C: to("PDT"), E: to("VPN")},
  },
  PLN: {
    required: {A: oneOf("1", "2", "3", "4", "5", "6", "7", "8")},
    optional: {B: text, C: area, D: code},
    children: {LSG: [1, any]},
  },
  LSG: {
    required: {A: oneOf("1", "2", "3", "4", "5", "6", "7", "8", "9")},
    optional: {B: text},
    children: {PNT: [1, any]},
  },
  PNT: {required: {A: oneOf("1", "2"), C: north, D: east}, optional: {B: text, E: whole(-(2 ** 31), 2 ** 31 - 1)}},
  GRD: {
    required: {
      A: north,
      B: east,
      C: degreeSize,
      D: degreeSize,
      E: whole(1, 2 ** 32 - 1),
      F: whole(1, 2 ** 32 - 1),
      G: {is: "file"},
      I: oneOf("1", "2"),
    },
    optional: {H: whole(0, 2 ** 32 - 2), J: code},
  },
};
