import {describe, expect, it} from "vitest";
import {readTimeLog} from "../../../src/formats/iso11783/read-time-log.ts";
import {encodeUtf8} from "../../../src/formats/text.ts";
import {bytes, taskData} from "./plans.ts";

const HEADER =
  '<TIM A="" D="4"><PTN A="" B="" C="" D=""/><DLV A="0007" B="" C="DET-1"/><DLV A="0043" B="" C="DET-1"/></TIM>';
/** 13:30:00 on 2026-04-15, 42.005 north, 92.995 west, 286.512 m up, RTK fixed; 22417 mg/m2, 9144 mm. */
const RECORD = "c0 93 e5 02 0a 42 50 74 09 19 d0 16 92 c8 30 5f 04 00 04 02 00 91 57 00 00 01 b8 23 00 00";
/** One second later at the same place, nothing changed. */
const QUIET = "a8 97 e5 02 0a 42 50 74 09 19 d0 16 92 c8 30 5f 04 00 04 00";
/** Another second later: no fix, and a rate of 16813 mg/m2. */
const LOST = "90 9b e5 02 0a 42 50 74 09 19 d0 16 92 c8 30 5f 04 00 00 01 00 ad 41 00 00";

const log = (records: string, header = HEADER, name = "TLG00001") =>
  taskData('<TSK A="TSK1" G="4"><TLG A="TLG00001" C="1"/></TSK>', {
    [`TASKDATA/${name}.xml`]: encodeUtf8(header),
    [`TASKDATA/${name}.bin`]: records === "" ? new Uint8Array(0) : bytes(records),
  });
const read = (records: string, header?: string) => readTimeLog(log(records, header), "TLG00001");

describe("a machine's log", () => {
  it("decodes a record worked out by hand", () => {
    const {value, issues} = read(RECORD);
    expect(issues).toEqual([]);
    expect(value.count).toBe(1);
    expect(value.timeS[0]).toBe(Date.UTC(2026, 3, 15, 13, 30) / 1000 - Date.UTC(1980, 0, 1) / 1000);
    expect(value.lat[0]).toBe(42.005);
    expect(value.lon[0]).toBe(-92.995);
    expect(value.upM?.[0]).toBe(286.512);
    expect(value.status?.[0]).toBe(4);
    expect(value.channels).toEqual([
      {ddi: 7, name: "applied rate, mass", unit: "kg/ha", element: "DET-1", values: Float64Array.of(224.17)},
      {ddi: 67, name: "working width", unit: "m", element: "DET-1", values: Float64Array.of(9.144)},
    ]);
  });

  it("lets a value hold until the next one, and has no position without a fix", () => {
    const {value} = read([QUIET, RECORD, QUIET, LOST].join(" "));
    expect(value.channels.map((channel) => [...channel.values])).toEqual([
      [Number.NaN, 224.17, 224.17, 168.13],
      [Number.NaN, 9.144, 9.144, 9.144],
    ]);
    expect([...value.lat]).toEqual([42.005, 42.005, 42.005, Number.NaN]);
    expect([...value.lon].map(Number.isNaN)).toEqual([false, false, false, true]);
    expect([...value.timeS].map((s) => s - (value.timeS[0] as number))).toEqual([0, -1, 0, 1]);
  });

  it("keeps whole records of a file cut off by a power failure, and says how much is lost", () => {
    for (const lost of [1, 5, 9, 10, 11, 29]) {
      const cut = `${RECORD} ${RECORD}`.split(" ").slice(0, -lost).join(" ");
      const {value, issues} = read(cut);
      expect(value.count).toBe(1);
      expect(issues).toMatchObject([
        {
          code: "iso11783/log-cut-off",
          severity: "warning",
          message: `TLG00001.BIN ends inside record 2; its last ${30 - lost} bytes were left out.`,
        },
      ]);
    }
  });

  it("takes values the header gives for all records", () => {
    const {value} = read(
      "c0 93 e5 02 0a 42 50 74 09 19 d0 16 92 c8 00",
      '<TIM A="" D="4"><PTN A="" B="" C="5000" D="1"/><DLV A="0043" B="6000" C="DET2"/></TIM>',
    );
    expect([...(value.upM ?? [])]).toEqual([5]);
    expect([...(value.status ?? [])]).toEqual([1]);
    expect(value.channels).toMatchObject([{ddi: 67, values: Float64Array.of(6)}]);
  });

  it("reads dilution, satellites and the receiver's own time", () => {
    const {value} = read(
      "00 00 00 00 01 00 50 74 09 19 d0 16 92 c8 04 0f 00 09 00 0c e8 03 00 00 02 00 00",
      '<TIM A="" D="4"><PTN A="" B="" D="" E="" F="" G="" H="" I=""/></TIM>',
    );
    expect(value.pdop?.[0]).toBe(1.5);
    expect(value.hdop?.[0]).toBe(0.9);
    expect(value.satellites?.[0]).toBe(12);
    expect(value.utcS?.[0]).toBe(2 * 86400 + 1);
  });

  it("has no positions when the header has none", () => {
    const {value} = read("c0 93 e5 02 0a 42 01 00 10 00 00 00", '<TIM A="" D="4"><DLV A="0077" B="" C="DET1"/></TIM>');
    expect([...value.lon]).toEqual([Number.NaN]);
    expect(value.channels).toMatchObject([{ddi: 119, unit: "s", values: Float64Array.of(16)}]);
  });

  it("treats 0, 0 and values marked as not available as unknown", () => {
    const nowhere = "c0 93 e5 02 0a 42 00 00 00 00 00 00 00 00 30 5f 04 00 04 01 00 ff ff ff 7f";
    const {value} = read(`${RECORD} ${nowhere}`);
    expect([...value.lat]).toEqual([42.005, Number.NaN]);
    expect([...(value.channels[0]?.values ?? [])]).toEqual([224.17, Number.NaN]);
  });

  it("counts values its header does not name", () => {
    const {value, issues} = read(RECORD.replace(/01 b8 23 00 00$/, "07 b8 23 00 00"));
    expect(value.channels).toHaveLength(1);
    expect(issues).toMatchObject([
      {severity: "error", message: "1 values of TLG00001.BIN are none of the 2 its header names; they were left out."},
    ]);
  });

  it("may be empty", () => {
    expect(read("").value).toMatchObject({count: 0, channels: []});
  });

  it("may be a long day: a million records in a few seconds", () => {
    const one = bytes(QUIET);
    const long = new Uint8Array(one.length * 1_000_000);
    for (let i = 0; i < 1_000_000; i++) long.set(one, i * one.length);
    const files = new Map([...log(RECORD), ["TASKDATA/TLG00001.bin", long]]) as Map<string, Uint8Array>;
    expect(readTimeLog(files, "TLG00001").value.count).toBe(1_000_000);
  });
});

describe("logs that cannot be read", () => {
  const codeOf = (work: () => unknown) => {
    try {
      work();
      return undefined;
    } catch (error) {
      return (error as {code?: string}).code;
    }
  };
  it("because a file is missing", () => {
    expect(codeOf(() => readTimeLog(taskData(""), "TLG00001"))).toBe("iso11783/no-time-log");
  });

  it.each([
    ["the header is something else", "<DLV/>"],
    ["records have no time", '<TIM D="4"/>'],
    ["an identifier is no hexadecimal number", '<TIM A="" D="4"><DLV A="xyz" B="" C=""/></TIM>'],
    ["a constant is no number", '<TIM A="" D="4"><PTN A="north"/></TIM>'],
  ])("because %s", (_, header) => {
    expect(codeOf(() => read(RECORD, header))).toBe("iso11783/bad-time-log");
  });

  it("because they would fill the memory", () => {
    // 7 bytes a record, each with 255 columns once a value of every kind has been seen.
    const kinds = Array.from({length: 255}, () => '<DLV A="0001" B="0" C="D"/>').join("");
    const files = new Map([
      ...log(RECORD, `<TIM A="" D="4">${kinds}</TIM>`),
      ["TASKDATA/TLG00001.bin", new Uint8Array(7 * 200_000)],
    ]) as Map<string, Uint8Array>;
    expect(codeOf(() => readTimeLog(files, "TLG00001"))).toBe("iso11783/too-large");
  });
});
