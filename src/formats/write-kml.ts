import type {Feature, Geometry} from "../geo/features.ts";
import type {LonLatPolygon, LonLatRing} from "../geo/shapes.ts";
import {wind} from "./rings.ts";
import {settledText, settlePolygon} from "./settle.ts";
import {type XmlElement, xml, xmlBytes, xmlText} from "./xml.ts";

/** Features shown alike under one heading. */
export interface KmlFolder {
  readonly name: string;
  readonly features: readonly Feature[];
  /** Property whose value is the name of a feature; its id by default. */
  readonly nameFrom?: string;
  /** Width of lines in pixels. Default 2. */
  readonly lineWidth?: number;
}

/**
 * A KML 2.2 document: a folder for each kind of thing, its features with their properties as extended data. Areas are
 * outlined in ink and not filled, so that the picture under them can be seen. Heights are left out; nothing is linked.
 *
 * Properties that are null or NaN are left out.
 *
 * Source: OGC KML 2.2, 07-147r2. Checked against: GDAL's reader in the reference suite.
 */
export function writeKml(name: string, folders: readonly KmlFolder[], description?: string): Uint8Array {
  const styles = folders.map(({lineWidth = 2}, i) =>
    xml("Style", {id: `style-${i + 1}`}, [
      xml("IconStyle", {}, [xmlText("scale", 0.6)]),
      xml("LineStyle", {}, [xmlText("color", INK), xmlText("width", lineWidth)]),
      xml("PolyStyle", {}, [xmlText("fill", 0)]),
    ]),
  );
  const contents = folders.map((folder, i) =>
    xml("Folder", {}, [
      xmlText("name", folder.name),
      ...folder.features.map((feature, k) => placemark(feature, folder, `#style-${i + 1}`, k + 1)),
    ]),
  );
  return xmlBytes(
    xml("kml", {xmlns: "http://www.opengis.net/kml/2.2"}, [
      xml("Document", {}, [
        xmlText("name", name),
        ...(description === undefined ? [] : [xmlText("description", description)]),
        ...styles,
        ...contents,
      ]),
    ]),
  );
}

/** #1f2a2e as KML writes colours: alpha, blue, green, red. */
const INK = "ff2e2a1f";

function placemark(feature: Feature, {name: folder, nameFrom}: KmlFolder, style: string, number: number): XmlElement {
  const {id, properties, geometry} = feature;
  const name = (nameFrom === undefined ? undefined : properties[nameFrom]) ?? id ?? `${folder} ${number}`;
  const data = Object.entries(properties)
    .filter(([, value]) => value !== null && !Number.isNaN(value))
    .map(([key, value]) => xml("Data", {name: key}, [xmlText("value", String(value))]));
  return xml("Placemark", {}, [
    xmlText("name", String(name)),
    xmlText("styleUrl", style),
    ...(data.length > 0 ? [xml("ExtendedData", {}, data)] : []),
    geometryElement(geometry, `${folder} ${number}`),
  ]);
}

function geometryElement(geometry: Geometry, what: string): XmlElement {
  const multi = (members: XmlElement[]): XmlElement => xml("MultiGeometry", {}, members);
  switch (geometry.type) {
    case "Point":
      return xml("Point", {}, [coordinates([geometry.coordinates])]);
    case "MultiPoint":
      return multi(geometry.coordinates.map((position) => xml("Point", {}, [coordinates([position])])));
    case "LineString":
      return line(geometry.coordinates);
    case "MultiLineString":
      return multi(geometry.coordinates.map(line));
    case "Polygon":
      return polygon(geometry.coordinates, what);
    case "MultiPolygon": {
      const [first, ...more] = geometry.coordinates;
      return first && more.length === 0
        ? polygon(first, what)
        : multi(geometry.coordinates.map((rings) => polygon(rings, what)));
    }
  }
}

function line(positions: LonLatRing): XmlElement {
  return xml("LineString", {}, [xmlText("tessellate", 1), coordinates(positions)]);
}

function polygon(rings: LonLatPolygon, what: string): XmlElement {
  const wound = wind(settlePolygon(rings, what), "counter-clockwise");
  return xml(
    "Polygon",
    {},
    wound.map((ring, i) =>
      xml(i === 0 ? "outerBoundaryIs" : "innerBoundaryIs", {}, [xml("LinearRing", {}, [coordinates(ring)])]),
    ),
  );
}

/** Tuples of longitude and latitude with no space within, parted by single spaces. */
function coordinates(positions: LonLatRing): XmlElement {
  return xmlText("coordinates", positions.map(([lon, lat]) => `${settledText(lon)},${settledText(lat)}`).join(" "));
}
