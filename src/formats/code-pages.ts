import {decoderFor} from "./text.ts";

/** Language driver bytes of a .dbf that name a code page the Encoding standard has (from memory). */
const BY_DRIVER: Readonly<Record<number, string>> = {
  3: "windows-1252",
  19: "shift_jis",
  38: "ibm866",
  77: "gbk",
  78: "euc-kr",
  79: "big5",
  87: "windows-1252",
  88: "windows-1252",
  89: "windows-1252",
  101: "ibm866",
  120: "big5",
  121: "euc-kr",
  122: "gbk",
  123: "shift_jis",
  124: "windows-874",
  125: "windows-1255",
  126: "windows-1256",
  200: "windows-1250",
  201: "windows-1251",
  202: "windows-1254",
  203: "windows-1253",
  204: "windows-1257",
};

const BY_NUMBER: Readonly<Record<string, string>> = {
  "65001": "utf-8",
  "936": "gbk",
  "932": "shift_jis",
  "949": "euc-kr",
  "950": "big5",
  "866": "ibm866",
  "874": "windows-874",
};

/**
 * The encoding of attribute text, as a label of the Encoding standard: from the words of a `.cpg`, else from the
 * language byte of the `.dbf`. Undefined when neither says, or says something unknown.
 */
export function encodingOf(cpg: string | undefined, driver: number): string | undefined {
  const said = cpg?.replace(/^\ufeff/, "").trim();
  if (said) {
    const ldid = /^ldid\/(\d+)$/i.exec(said)?.[1];
    if (ldid !== undefined) return BY_DRIVER[Number(ldid)];
    const digits = said.replace(/\D/g, "");
    const label = /^125\d$/.test(digits)
      ? `windows-${digits}`
      : /^8859\d{1,2}$/.test(digits)
        ? `iso-8859-${digits.slice(4)}`
        : (BY_NUMBER[digits] ?? said);
    if (decoderFor(label)) return label;
  }
  return BY_DRIVER[driver];
}
