"""The ledger once more, from the files a run hands over and the job alone: no code of the product is used.

usage: rederive.py JOB.json OUT_FOLDER  ->  JSON on stdout
"""

import json
import re
import sys
from decimal import Decimal
from pathlib import Path

PER_LB = {"lb": Decimal(1), "ton": Decimal(1) / 2000}


def load(path):
    return json.loads(Path(path).read_text(encoding="utf-8"), parse_float=Decimal)


def price(text):
    value, unit = re.fullmatch(r"\s*([\d.]+)\s*\$/(\w+)\s*", text).groups()
    return Decimal(value) * PER_LB.get(unit, Decimal(1))


def main(job_path, out):
    job = load(job_path)
    prices = job["prices"]
    found = {}
    for strategy in job["strategies"] if "strategies" in job else ["whole-field", "grid", "zone"]:
        polygons = load(f"{out}/rates-{strategy}.geojson")
        units = load(f"{out}/plan-{strategy}-units.geojson")["features"]
        cores = load(f"{out}/plan-{strategy}-cores.geojson")["features"]
        acres = sum((f["properties"]["ACRES"] for f in polygons["features"]), Decimal(0))
        products = []
        for told, asked in zip(polygons["loamwright"]["products"], job["products"]):
            total = sum(
                (f["properties"]["ACRES"] * f["properties"][told["column"]] for f in polygons["features"]), Decimal(0)
            )
            percent = dict(zip(("N", "P2O5", "K2O"), map(Decimal, asked["analysis"].split("-"))))
            products.append(
                {
                    "analysis": asked["analysis"],
                    "totalLb": float(total),
                    "meanLbPerAcre": float(total / acres),
                    "nutrientLb": float(total * percent[asked["nutrient"]] / 100),
                    "nitrogenLb": float(total * percent["N"] / 100),
                    "cost": float(total * price(asked["price"])),
                }
            )
        sampling = len(units) * price(prices["lab"]) + len(cores) * price(prices["core"])
        if strategy == "zone":
            sampling += acres * price(prices["zoneMaking"])
        found[strategy] = {
            "samples": len(units),
            "cores": len(cores),
            "acres": float(acres),
            "products": products,
            "samplingCost": float(sampling),
            "totalCost": float(sampling) + sum(p["cost"] for p in products),
        }
    print(json.dumps(found))


main(*sys.argv[1:])
