import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {readGpx} from "../../src/formats/read-gpx.ts";
import {encodeUtf8} from "../../src/formats/text.ts";
import {writeGpx} from "../../src/formats/write-gpx.ts";
import {gpxFaults} from "./gpx-rules.ts";

const text = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);

describe("a GPX file we write", () => {
  const document = {
    name: "Wren Patch, grid",
    description: "cores & such",
    waypoints: [
      {
        position: [-86.4, 40.55] as const,
        name: "WPG01-1",
        comment: "8 in deep",
        type: "soil core",
        timeS: 1_761_055_390,
      },
      {position: [180, 1e-7] as const, name: 'odd <"name">'},
    ],
    routes: [{name: "bags", points: [{position: [-86.4, 40.55] as const, name: "WPG01"}]}],
    tracks: [{name: "boundary 1", points: [{position: [-86.4, 40.55] as const}, {position: [-86.39, 40.55] as const}]}],
  };

  it("keeps the rules of the schema", () => {
    expect(gpxFaults(writeGpx(document))).toEqual([]);
  });

  it("says what was asked, place by place", () => {
    expect(text(writeGpx(document))).toContain(
      '<wpt lat="40.55" lon="-86.4">\n    <time>2025-10-21T14:03:10Z</time>\n    <name>WPG01-1</name>\n    <cmt>8 in deep</cmt>\n    <type>soil core</type>\n  </wpt>',
    );
  });

  it("writes the 180th meridian from the west, as the schema asks, and small latitudes without an exponent", () => {
    expect(text(writeGpx(document))).toContain('<wpt lat="0.0000001" lon="-180">');
  });

  it("refuses a place that is not on the earth as a fault of ours", () => {
    expect(() => writeGpx({name: "x", waypoints: [{position: [0, 91]}]})).toThrow(/position/);
  });

  it("keeps the signs in a name that some readers take for the end of a line", () => {
    const name = "a\u2028b\u0085c\u2029d";
    const bytes = writeGpx({name: "any", waypoints: [{position: [0, 0], name}]});
    expect(text(bytes)).toContain("<name>a&#x2028;b&#x85;c&#x2029;d</name>");
    expect(readGpx(bytes, "any.gpx").value.waypoints[0]?.name).toBe(name);
    // Other writers leave them as they are.
    const raw = encodeUtf8(
      text(bytes).replace(/&#x(\w+);/g, (_, code) => String.fromCharCode(Number.parseInt(code, 16))),
    );
    expect(readGpx(raw, "any.gpx").value.waypoints[0]?.name).toBe(name);
  });

  it("comes back the same, whatever the names and places", () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            position: fc.tuple(
              fc.double({min: -179.999, max: 179.999, noNaN: true}),
              fc.double({min: -90, max: 90, noNaN: true}),
            ),
            name: fc.string({unit: "grapheme", minLength: 1, maxLength: 14}),
            timeS: fc.integer({min: 0, max: 4_000_000_000}),
          }),
          {minLength: 1, maxLength: 8},
        ),
        (waypoints) => {
          const bytes = writeGpx({name: "any", waypoints});
          expect(gpxFaults(bytes)).toEqual([]);
          const {value, issues} = readGpx(bytes, "any.gpx");
          expect(issues).toEqual([]);
          value.waypoints.forEach((found, i) => {
            const given = waypoints[i] as (typeof waypoints)[number];
            // Nine decimals of a degree.
            expect(Math.abs(found.position[0] - given.position[0])).toBeLessThan(1e-9);
            expect(Math.abs(found.position[1] - given.position[1])).toBeLessThan(1e-9);
            expect(found.timeS).toBe(given.timeS);
            expect(found.name).toBe(clean(given.name));
          });
        },
      ),
    );
  });

  it("is the same bytes for the same plan", () => {
    expect(text(writeGpx(document))).toBe(text(writeGpx(document)));
  });
});

/** XML keeps neither control characters nor outer spaces of a name. */
const clean = (name: string): string =>
  name.replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu, "\ufffd").trim();

describe("the rules themselves", () => {
  const good = `<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="1" lon="2"><name>a</name><cmt>b</cmt></wpt></gpx>`;
  // The five faults that xmllint found against the schema of topografix.com in a trial outside this repository.
  it.each([
    ["nothing in a good file", good, []],
    [
      "elements out of order",
      good.replace("<name>a</name><cmt>b</cmt>", "<cmt>b</cmt><name>a</name>"),
      ["order of name in wpt"],
    ],
    ["a longitude of 180", good.replace('lon="2"', 'lon="180"'), ["lon 180"]],
    ["a missing creator", good.replace(' creator="x"', ""), ["creator"]],
    ["version 1.0", good.replace('version="1.1"', 'version="1.0"'), ["version"]],
    ["an exponent", good.replace('lat="1"', 'lat="1e-7"'), ["lat 1e-7"]],
  ])("find %s", (_what, document, faults) => {
    expect(gpxFaults(encodeUtf8(document))).toEqual(faults);
  });
});

describe("a GPX file of others", () => {
  const read = (body: string, root = '<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0">') =>
    readGpx(encodeUtf8(`${root}${body}</${/<(\S+)/.exec(root)?.[1]}>`), "log.gpx");

  it("is read in any order of elements, with prefixes, extensions and zones of time", () => {
    const {value} = read(
      '<g:trk><g:trkseg><g:trkpt lon="-86.4" lat="40.5"><g:time>2025-10-21T10:03:10.5-04:00</g:time></g:trkpt></g:trkseg></g:trk><g:wpt lat="40.6" lon="-86.5"><g:desc>wet</g:desc><g:extensions><x>1</x></g:extensions><g:name> KFG07-3 </g:name></g:wpt>',
      '<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1">',
    );
    expect(value.waypoints).toEqual([
      {position: [-86.5, 40.6], name: "KFG07-3", comment: "wet", timeS: Number.NaN, number: 1},
    ]);
    expect(value.tracks[0]?.[0]?.timeS).toBe(1_761_055_390.5);
  });

  it("keeps segments apart", () => {
    const point = '<trkpt lat="1" lon="1"/>';
    const {value} = read(`<trk><trkseg>${point}${point}</trkseg><trkseg>${point}</trkseg></trk>`);
    expect(value.tracks.map((points) => points.length)).toEqual([2, 1]);
  });

  it("loses places that cannot be, and says so", () => {
    const {value, issues} = read('<wpt lat="95" lon="1"/><wpt lat="" lon="1"/><wpt lat="40" lon="-86"/>');
    expect(value.waypoints.map(({number}) => number)).toEqual([3]);
    expect(issues).toMatchObject([
      {code: "gpx/impossible-place", message: expect.stringContaining("2 places of log.gpx"), place: {file: "log.gpx"}},
    ]);
  });

  it.each([
    ["a file without places", "<metadata/>", "gpx/empty"],
    ["a document type", undefined, "xml/doctype"],
  ])("with %s is refused", (_what, body, code) => {
    const run = () => (body ? read(body) : readGpx(encodeUtf8("<!DOCTYPE gpx><gpx/>"), "log.gpx"));
    expect(run).toThrow(expect.objectContaining({code}));
  });

  it("that is no GPX is refused with what it is", () => {
    expect(() => readGpx(encodeUtf8("<kml/>"), "log.gpx")).toThrow(
      expect.objectContaining({code: "gpx/not-gpx", message: expect.stringContaining("<kml>")}),
    );
  });
});
