import {FieldError} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";
import {bytesOf, endingOf, type FileSet} from "./file-set.ts";
import {isZip} from "./signatures.ts";
import {unzip} from "./zip.ts";

/** The files of one shapefile, whichever case their endings had and whether or not they came in a zip. */
export interface ShapefileMembers {
  /** Name of the `.shp` without its ending. */
  readonly stem: string;
  readonly shp: Uint8Array;
  readonly shx?: Uint8Array;
  readonly dbf?: Uint8Array;
  readonly prj?: Uint8Array;
  readonly cpg?: Uint8Array;
}

/**
 * Finds the members that belong together.
 *
 * @param name - A zip, or the `.shp` (or any other member) of loose files.
 * @param layer - Which shapefile of a zip that holds several: its name without folder and ending.
 * @throws {FieldError} `shp/none`, `shp/several` listing them, `shp/no-such-layer`, and what `unzip` refuses.
 */
export function findMembers(files: FileSet, name: string, layer?: string): ShapefileMembers {
  const bytes = bytesOf(files, name);
  if (!isZip(bytes)) return gather(files, withoutEnding(name), name);
  const inside = unzip(bytes, name);
  const stems = [...inside.keys()].filter((member) => endingOf(member) === "shp").map(withoutEnding);
  return gather(inside, pick(stems, name, layer), name);
}

function pick(stems: readonly string[], name: string, layer: string | undefined): string {
  const shown = stems.map(layerName).join(", ");
  if (stems.length === 0) {
    throw new FieldError("shp/none", `${name} holds no shapefile.`, {
      place: {file: name},
      hint: "Zip the .shp, .shx, .dbf and .prj together.",
    });
  }
  if (layer === undefined) {
    if (stems.length === 1) return stems[0] as string;
    throw new FieldError("shp/several", `${name} holds ${stems.length} shapefiles: ${shown}.`, {
      place: {file: name},
      hint: 'Say which one in the job, as in "layer": "boundary".',
    });
  }
  const wanted = layer.replace(/\.shp$/i, "").toLowerCase();
  const found = stems.filter((stem) => stem.toLowerCase() === wanted || layerName(stem).toLowerCase() === wanted);
  if (found.length === 1) return found[0] as string;
  const near = nearestName(layer, stems.map(layerName));
  throw new FieldError("shp/no-such-layer", `${name} holds no shapefile named "${layer}", but: ${shown}.`, {
    place: {file: name},
    hint: near ? `Did you mean "${near}"?` : "Use one of these names.",
  });
}

function gather(files: FileSet, stem: string, name: string): ShapefileMembers {
  const member = (ending: string): Uint8Array | undefined => {
    const wanted = `${stem}.${ending}`.toLowerCase();
    for (const [key, bytes] of files) if (key.toLowerCase() === wanted && bytes.length > 0) return bytes;
    return undefined;
  };
  const shp = member("shp");
  if (!shp) {
    throw new FieldError("shp/none", `${layerName(stem)}.shp is missing.`, {
      place: {file: name},
      hint: "Give the .shp, .shx, .dbf and .prj together.",
    });
  }
  const rest: Record<string, Uint8Array> = {};
  for (const ending of ["shx", "dbf", "prj", "cpg"]) {
    const bytes = member(ending);
    if (bytes) rest[ending] = bytes;
  }
  return {stem, shp, ...rest};
}

const withoutEnding = (name: string): string => name.replace(/\.[^./\\]*$/, "");
const layerName = (stem: string): string => stem.split("/").at(-1) as string;
