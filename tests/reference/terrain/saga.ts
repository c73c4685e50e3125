import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";

// SAGA from Debian's packages. Grids go in and out in its own plain form: a header of text and the cells, south first.

export function sagaVersion(): string {
  return execFileSync("saga_cmd", ["--version"], {encoding: "utf8"}).trim();
}

/** Runs tools one after another on one set of grids; the names given are those of grids. */
export class Saga {
  private readonly folder = mkdtempSync(join(tmpdir(), "loamwright-saga-"));
  private cols = 0;
  private rows = 0;

  put(name: string, values: Float64Array, cols: number, cellSizeM: number): void {
    this.cols = cols;
    this.rows = values.length / cols;
    const header = {
      NAME: name,
      DATAFORMAT: "DOUBLE",
      BYTEORDER_BIG: "FALSE",
      POSITION_XMIN: 500000 + cellSizeM / 2,
      POSITION_YMIN: 4500000 + cellSizeM / 2,
      CELLCOUNT_X: cols,
      CELLCOUNT_Y: this.rows,
      CELLSIZE: cellSizeM,
      Z_FACTOR: 1,
      NODATA_VALUE: -99999,
      TOPTOBOTTOM: "FALSE",
    };
    const text = Object.entries(header).map(([key, value]) => `${key}\t= ${value}\n`);
    writeFileSync(this.path(name), text.join(""));
    const known = values.map((z) => (Number.isNaN(z) ? -99999 : z));
    writeFileSync(this.path(name).replace(/sgrd$/, "sdat"), new Uint8Array(turned(known, cols).buffer));
  }

  run(library: string, tool: number, grids: Record<string, string>, settings: Record<string, number> = {}): void {
    const options = [
      ...Object.entries(grids).flatMap(([key, name]) => [`-${key}`, this.path(name)]),
      ...Object.entries(settings).flatMap(([key, value]) => [`-${key}`, String(value)]),
    ];
    execFileSync("saga_cmd", ["--flags=s", "--cores=1", library, String(tool), ...options], {encoding: "utf8"});
  }

  get(name: string): Float64Array {
    const header = readFileSync(this.path(name), "utf8");
    const bytes = readFileSync(this.path(name).replace(/sgrd$/, "sdat"));
    const noData = Number(/NODATA_VALUE\s*=\s*([-\d.e+]+)/.exec(header)?.[1]);
    const of = /DATAFORMAT\s*=\s*DOUBLE/.test(header) ? Float64Array : Float32Array;
    const cells = new of(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
    const values = turned(Float64Array.from(cells), this.cols);
    return values.map((value) => (Math.abs(value - noData) < 1e-3 ? Number.NaN : value));
  }

  end(): void {
    rmSync(this.folder, {recursive: true, force: true});
  }

  private path(name: string): string {
    return join(this.folder, `${name}.sgrd`);
  }
}

function turned(values: Float64Array, cols: number): Float64Array {
  const rows = values.length / cols;
  return values.map((_, i) => values[(rows - 1 - Math.floor(i / cols)) * cols + (i % cols)] as number);
}
