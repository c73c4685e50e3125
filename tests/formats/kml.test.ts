import {describe, expect, it} from "vitest";
import {writeKml} from "../../src/formats/write-kml.ts";
import {parseXml, type XmlElement} from "../../src/formats/xml.ts";
import type {Feature} from "../../src/geo/features.ts";

const square = (w: number, s: number, size: number) =>
  [
    [w, s],
    [w, s + size],
    [w + size, s + size],
    [w + size, s],
    [w, s],
  ] as const;

const hole = square(0.25, 0.25, 0.5);
const features: Feature[] = [
  {
    id: "A",
    geometry: {type: "Polygon", coordinates: [square(0, 0, 1), hole]},
    properties: {acres: 2.5, why: null, x: Number.NaN},
  },
  {id: "B", geometry: {type: "MultiPolygon", coordinates: [[square(0, 0, 1)], [square(2, 0, 1)]]}, properties: {}},
  {geometry: {type: "Point", coordinates: [-86.4, 40.55]}, properties: {sample: 'A<&">'}},
  {
    geometry: {
      type: "LineString",
      coordinates: [
        [0, 0],
        [1, 1],
      ],
    },
    properties: {},
  },
];
const root = parseXml(writeKml("Wren Patch", [{name: "Units", features, nameFrom: "sample"}], "look out"), "x.kml");

const all = (element: XmlElement, name: string): XmlElement[] => [
  ...(element.name === name ? [element] : []),
  ...element.children.flatMap((child) => all(child, name)),
];

describe("a KML file", () => {
  it("is KML 2.2 with a folder of placemarks, names from the property asked for, else the id, else a number", () => {
    expect(root.attributes.xmlns).toBe("http://www.opengis.net/kml/2.2");
    const names = all(root, "Placemark").map((placemark) => placemark.children[0]?.text);
    expect(names).toEqual(["A", "B", 'A<&">', "Units 4"]);
  });

  it("keeps the order of elements that the standard fixes (OGC 07-147r2, 9.1 and 10.3)", () => {
    const order =
      "name description styleUrl Style ExtendedData Folder Placemark Point LineString Polygon MultiGeometry".split(" ");
    for (const element of [...all(root, "Document"), ...all(root, "Placemark"), ...all(root, "Folder")]) {
      const places = element.children.map(({name}) => order.indexOf(name));
      expect(places).not.toContain(-1);
      expect(places).toEqual([...places].sort((a, b) => a - b));
    }
  });

  it("winds outer rings counter-clockwise and puts each hole in an element of its own", () => {
    const [first] = all(root, "Polygon");
    expect(first?.children.map(({name}) => name)).toEqual(["outerBoundaryIs", "innerBoundaryIs"]);
    expect(all(first as XmlElement, "coordinates")[0]?.text).toBe("0,0 1,0 1,1 0,1 0,0");
  });

  it("writes tuples without a space within", () => {
    for (const {text} of all(root, "coordinates")) expect(text).toMatch(/^(-?[\d.]+,-?[\d.]+)( -?[\d.]+,-?[\d.]+)*$/);
  });

  it("makes one geometry of two pieces, and leaves out what has no value", () => {
    expect(all(root, "MultiGeometry")[0]?.children.map(({name}) => name)).toEqual(["Polygon", "Polygon"]);
    expect(all(root, "Data").map(({attributes}) => attributes.name)).toEqual(["acres", "sample"]);
  });

  it("links to nothing", () => {
    for (const name of ["NetworkLink", "href", "Icon", "script"]) expect(all(root, name)).toEqual([]);
  });
});
