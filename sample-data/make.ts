import {mkdirSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {loadGeos} from "../src/geo/geos.ts";
import {FIELDS} from "./make/farm.ts";
import {filesOf} from "./make/files.ts";

// Writes Sedgewater Farm, the invented farm of the examples: npx tsx sample-data/make.ts
await loadGeos();
for (const field of FIELDS) {
  const folder = join(import.meta.dirname, field.id);
  mkdirSync(folder, {recursive: true});
  for (const [name, bytes] of filesOf(field)) {
    writeFileSync(join(folder, name), bytes);
    console.log(`${field.id}/${name}  ${(bytes.length / 1e6).toFixed(2)} MB`);
  }
}
