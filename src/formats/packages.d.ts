// Packages without types of their own, as far as they are used here.

declare module "shpjs" {
  type Position = number[];
  type Shape =
    | {type: "Point"; coordinates: Position}
    | {type: "MultiPoint" | "LineString"; coordinates: Position[]}
    | {type: "MultiLineString" | "Polygon"; coordinates: Position[][]}
    | {type: "MultiPolygon"; coordinates: Position[][][]};
  /** The shapes of a `.shp`, null for null shapes. */
  export function parseShp(shp: Uint8Array): (Shape | null)[];
}

declare module "papaparse" {
  interface ParseError {
    code: "MissingQuotes" | "InvalidQuotes";
    row?: number;
  }
  const papa: {
    parse(text: string, options: {delimiter: string; newline: "\n"}): {data: string[][]; errors: ParseError[]};
  };
  export default papa;
}
