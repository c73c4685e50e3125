import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {systemPython} from "../gdal.ts";

// scikit-learn and R's e1071 from Debian's packages, on the very numbers that are given to ours.

/** What scikit-learn makes of a table: the best of many starts for each count. */
export interface Fit {
  readonly count: number;
  readonly inertia: number;
  readonly silhouette: number;
  readonly calinskiHarabasz: number;
  readonly daviesBouldin: number;
}

export interface Table {
  readonly name: string;
  readonly dims: number;
  readonly values: readonly number[];
  readonly fits: readonly Fit[];
}

/** Shared data of a real farm; left out where it is not at hand. */
const COOK = new URL("../../../../shared/data/cook_farm/grids/", import.meta.url).pathname;

/** Iris and wine as they are and standardised, and the farm's grids standardised, with what scikit-learn makes of them. */
export function scikitLearn(): {version: string; tables: readonly Table[]} {
  const script = `
import json, os, sys, warnings
warnings.filterwarnings("ignore")
import numpy as np, sklearn
from sklearn.cluster import KMeans
from sklearn.datasets import load_iris, load_wine
from sklearn.metrics import silhouette_score, calinski_harabasz_score, davies_bouldin_score
def z(X): return (X - X.mean(0)) / X.std(0)
tables = {}
for name, load in (("iris", load_iris), ("wine", load_wine)):
    X = load().data
    tables[name] = X
    tables[name + ", standardised"] = z(X)
if os.path.isdir(sys.argv[1]):
    from osgeo import gdal
    gdal.UseExceptions()
    layers = []
    for file in ("dem_10m.tif", "twi_10m.tif", "eca_fall_10m.tif", "ndre_mean_10m.tif"):
        source = gdal.Open(os.path.join(sys.argv[1], file))
        band = source.GetRasterBand(1)
        values = band.ReadAsArray().astype(float)
        if band.GetNoDataValue() is not None: values[values == band.GetNoDataValue()] = np.nan
        layers.append(values.ravel())
    X = np.stack(layers, 1)
    tables["farm grids, standardised"] = z(X[np.isfinite(X).all(1)])
out = []
for name, X in tables.items():
    fits = []
    for k in range(2, 7):
        fit = KMeans(k, n_init=100 if len(X) < 1000 else 20, tol=0, max_iter=1000, random_state=1).fit(X)
        fits.append({"count": k, "inertia": fit.inertia_, "silhouette": silhouette_score(X, fit.labels_),
            "calinskiHarabasz": calinski_harabasz_score(X, fit.labels_), "daviesBouldin": davies_bouldin_score(X, fit.labels_)})
    out.append({"name": name, "dims": X.shape[1], "values": X.ravel().tolist(), "fits": fits})
print(json.dumps({"version": sklearn.__version__, "tables": out}))
`;
  return JSON.parse(run(systemPython(), "fit.py", script, [COOK])) as {version: string; tables: readonly Table[]};
}

/** What cmeans of e1071 makes of a table. */
export interface FuzzyFit {
  readonly count: number;
  readonly exponent: number;
  readonly objective: number;
  /** Row-major, in e1071's own order. */
  readonly centres: readonly number[];
  readonly partition: number;
  readonly entropy: number;
}

/** Fuzzy c-means for each count and exponent, the best of ten starts. */
export function e1071(
  {dims, values}: Pick<Table, "dims" | "values">,
  counts: readonly number[],
  exponents: readonly number[],
): {version: string; fits: readonly FuzzyFit[]} {
  const script = `
suppressMessages(library(e1071))
x <- matrix(c(${values.join(",")}), ncol = ${dims}, byrow = TRUE)
cat(as.character(packageVersion("e1071")), "\\n")
for (k in c(${counts.join(",")})) for (m in c(${exponents.join(",")})) {
  best <- NULL
  for (seed in 1:10) {
    set.seed(seed)
    fit <- cmeans(x, k, iter.max = 10000, m = m, control = list(reltol = 1e-15))
    if (is.null(best) || fit$withinerror < best$withinerror) best <- fit
  }
  index <- sapply(c("partition.coefficient", "partition.entropy"), function(one) fclustIndex(best, x, one))
  cat(sprintf("%.17g", c(k, m, best$withinerror * nrow(x), index, t(best$centers))), "\\n")
}
`;
  const [version = "", ...lines] = run("Rscript", "fit.R", script, []).trim().split("\n");
  const fits = lines.map((line) => {
    const [count, exponent, objective, partition, entropy, ...centres] = line.trim().split(/\s+/).map(Number) as [
      number,
      number,
      number,
      number,
      number,
      ...number[],
    ];
    return {count, exponent, objective, partition, entropy, centres};
  });
  return {version: version.trim(), fits};
}

function run(program: string, name: string, script: string, options: readonly string[]): string {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-clusters-"));
  try {
    const path = join(folder, name);
    writeFileSync(path, script);
    return execFileSync(program, [path, ...options], {
      encoding: "utf8",
      maxBuffer: 2 ** 28,
      // One thread: more wait for each other on tables this small.
      env: {...process.env, OMP_NUM_THREADS: "1", OPENBLAS_NUM_THREADS: "1"},
    });
  } finally {
    rmSync(folder, {recursive: true, force: true});
  }
}
