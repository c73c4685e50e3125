import {describe, expect, it} from "vitest";
import {checkCharacter, hasGoodCheck, PLAIN_CHARACTERS} from "../../src/units/check-character.ts";

describe("the check character of an id", () => {
  it("is the published decimal check digit in the decimal alphabet: 7992739871 has 3", () => {
    expect(checkCharacter("7992739871", "0123456789")).toBe("3");
    expect(hasGoodCheck("79927398713", "0123456789")).toBe(true);
    // All other last digits are wrong.
    for (const digit of "012456789") expect(hasGoodCheck(`7992739871${digit}`, "0123456789")).toBe(false);
  });

  it("closes every id it was made for, whatever the case and the hyphens", () => {
    for (const id of ["KFG07", "M-Z1", "mz12", "0", "MRW1"]) {
      const check = checkCharacter(id) as string;
      expect(PLAIN_CHARACTERS).toContain(check);
      expect(hasGoodCheck(id + check), id).toBe(true);
      expect(hasGoodCheck(`${id}-${check}`.toLowerCase())).toBe(true);
    }
  });

  it("finds every single wrong character", () => {
    const id = `KFG07${checkCharacter("KFG07")}`;
    for (let i = 0; i < id.length; i++) {
      for (const character of PLAIN_CHARACTERS) {
        if (character === id[i]) continue;
        expect(hasGoodCheck(id.slice(0, i) + character + id.slice(i + 1))).toBe(false);
      }
    }
  });

  it("finds every swap of two neighbours but that of 0 and Z", () => {
    for (const a of PLAIN_CHARACTERS) {
      for (const b of PLAIN_CHARACTERS) {
        if (a === b) continue;
        const check = checkCharacter(`K${a}${b}7`) as string;
        expect(hasGoodCheck(`K${b}${a}7${check}`), a + b).toBe(a + b === "0Z" || a + b === "Z0");
      }
    }
  });

  it("is not given to a text it cannot guard", () => {
    for (const text of ["", " ", "KI1", "KO1", "é"]) expect(checkCharacter(text)).toBeUndefined();
    expect(hasGoodCheck("7")).toBe(false);
    expect(hasGoodCheck("")).toBe(false);
  });
});
