import {describe, expect, it} from "vitest";
import {encodeUtf8} from "../../../src/formats/text.ts";
import {parseXml, xml, xmlBytes} from "../../../src/formats/xml.ts";

const parse = (text: string) => parseXml(encodeUtf8(text), "x.xml");
const codeOf = (work: () => unknown): string | undefined => {
  try {
    work();
    return undefined;
  } catch (error) {
    return (error as {code?: string}).code;
  }
};

describe("XML as plain data", () => {
  it("keeps names, attributes, children in order and text with its CDATA", () => {
    const root = parse(
      '\ufeff<?xml version="1.0"?><!-- a <tag> --><a x="1 &amp; 2" y=\'\'>t<b/><![CDATA[<u>]]><c z="&#65;"/></a><!-- end -->',
    );
    expect(root.name).toBe("a");
    expect({...root.attributes}).toEqual({x: "1 & 2", y: ""});
    expect(root.children.map((child) => child.name)).toEqual(["b", "c"]);
    expect(root.children[1]?.attributes.z).toBe("A");
    expect(root.text).toBe("t<u>");
  });

  it("has no attributes that the file does not give", () => {
    const {attributes} = parse("<a/>");
    expect(attributes.constructor).toBeUndefined();
    expect(attributes.toString).toBeUndefined();
  });

  it("reads UTF-16 by its mark and Latin text as declared", () => {
    const wide = Uint8Array.from([0xff, 0xfe, ...[...'<a n="é"/>'].flatMap((c) => [c.charCodeAt(0), 0])]);
    expect(parseXml(wide, "x.xml").attributes.n).toBe("é");
    const latin = Uint8Array.from(
      [...'<?xml version="1.0" encoding="ISO-8859-1"?><a n="é"/>'].map((c) => c.charCodeAt(0)),
    );
    expect(parseXml(latin, "x.xml").attributes.n).toBe("é");
  });

  it("writes what it reads back, whatever the characters", () => {
    const odd = "a<b>&\"c'\n\t\r é \u{1f33d} ]]>";
    expect(parseXml(xmlBytes(xml("r", {x: odd}, [xml("s", {y: 1, z: undefined})])), "x.xml")).toMatchObject({
      attributes: {x: odd},
      children: [{name: "s", attributes: {y: "1"}}],
    });
  });

  it("replaces characters that XML cannot hold", () => {
    expect(parseXml(xmlBytes(xml("r", {x: "a\0b\u0007c\ud800d"})), "x.xml").attributes.x).toBe(
      "a\ufffdb\ufffdc\ufffdd",
    );
  });
});

describe("XML that is refused", () => {
  it.each([
    ["a document type", '<?xml version="1.0"?><!-- c --><!DOCTYPE a [<!ENTITY x "y">]><a>&x;</a>', "xml/doctype"],
    ["a document type in small letters", "<!doctype a><a/>", "xml/doctype"],
    ["no XML", "hello", "xml/not-well-formed"],
    ["nothing", "", "xml/not-well-formed"],
    ["a file cut short", '<a><b c="1"', "xml/not-well-formed"],
    ["tags that do not match", "<a><b></a></b>", "xml/not-well-formed"],
    ["an attribute given twice", '<a x="1" x="2"/>', "xml/not-well-formed"],
    ["an entity it does not know", "<a>&xxe;</a>", "xml/not-well-formed"],
    ["an encoding it does not know", '<?xml version="1.0" encoding="klingon"?><a/>', "xml/encoding"],
    ["65 levels", "<a>".repeat(65) + "</a>".repeat(65), "xml/too-deep"],
    ["100,000 levels", "<a>".repeat(1e5) + "</a>".repeat(1e5), "xml/too-deep"],
    ["257 attributes", `<a ${Array.from({length: 257}, (_, i) => `x${i}="1"`).join(" ")}/>`, "xml/too-many-attributes"],
  ])("%s", (_, text, code) => {
    expect(codeOf(() => parse(text))).toBe(code);
  });

  it("says near which line the text stops making sense", () => {
    expect(() => parse("<a>\n<b>\n</a>")).toThrow(
      'x.xml is not well-formed XML: Opening and ending tag mismatch: "b" != "a" (near line 2).',
    );
  });

  it("bytes that are not UTF-8", () => {
    expect(codeOf(() => parseXml(Uint8Array.of(0x3c, 0x61, 0xff, 0x2f, 0x3e), "x.xml"))).toBe("xml/encoding");
  });

  it("more than 64 MB", () => {
    expect(codeOf(() => parseXml(new Uint8Array(64 * 2 ** 20 + 1), "x.xml"))).toBe("xml/too-large");
  });

  it("takes a page with a document type inside CDATA, as map descriptions have", () => {
    expect(parse("<a><![CDATA[<!DOCTYPE html><p>]]></a>").text).toBe("<!DOCTYPE html><p>");
  });

  it("64 levels and 256 attributes are fine", () => {
    expect(codeOf(() => parse("<a>".repeat(64) + "</a>".repeat(64)))).toBeUndefined();
    expect(codeOf(() => parse(`<a ${Array.from({length: 256}, (_, i) => `x${i}="1"`).join(" ")}/>`))).toBeUndefined();
  });
});
