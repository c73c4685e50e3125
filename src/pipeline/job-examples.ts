/**
 * An example of each section of a job, as it stands in docs/job.md: short, and of a field nobody has. Together they are a
 * whole job.
 */
export const JOB_EXAMPLES: Readonly<Record<string, unknown>> = {
  field: {name: "Home Quarter", prefix: "HQ", boundary: "boundary.geojson", statedArea: "154 ac"},
  layers: {
    cellSize: "5 m",
    yield: [
      {
        file: "yield-2024.csv",
        crop: "corn",
        season: 2024,
        columns: {x: "Longitude", y: "Latitude", flow: {column: "Flow", unit: "lb/s"}, swath: "Swath (ft)"},
        delay: "estimate",
      },
    ],
    soilMap: {file: "soil.zip", class: "MUSYM"},
    elevation: {file: "elevation.tif", unit: "m", use: ["relative elevation", "slope"]},
    rasters: [{file: "conductivity.tif", label: "electrical conductivity", unit: "mS/m"}],
  },
  zones: {
    count: 4,
    minArea: "2 ac",
    weights: {yield: 2, soil: 1},
    edits: [
      {edit: "merge", zones: [{at: [-86.3991, 40.5503]}, {at: [-86.3985, 40.5508]}]},
      {edit: "rename", zone: {at: [-86.3991, 40.5503]}, name: "east hill"},
    ],
  },
  sampling: {
    depth: "8 in",
    keepOuts: [{file: "landmarks.geojson", kind: "gravel road", only: [{column: "kind", is: "road"}]}],
    grid: {cellArea: "2.5 ac", pattern: "point", radius: "15 ft"},
    zone: {cores: 15, duplicates: 2},
    validation: {count: 12},
  },
  lab: {
    files: [
      {
        file: "lab.csv",
        sampleId: "Sample ID",
        analytes: [
          {analyte: "P", column: "P (ppm)", unit: "ppm", method: "mehlich-3 icp"},
          {analyte: "K", column: "K (ppm)", unit: "ppm", method: "mehlich-3 icp"},
          {analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"},
          {analyte: "buffer pH", column: "BpH", unit: "pH", method: "sikora"},
          {analyte: "CEC", column: "CEC", unit: "meq/100 g", method: "sum of cations"},
        ],
      },
    ],
    date: "2026-04-12",
    accepted: {"HQ-G1": "HQG01"},
    choices: [{sampleId: "HQG07", analyte: "P", choice: "re-run", reason: "ten times its neighbours"}],
  },
  rates: {
    guide: "tri-state-2020",
    state: "IN",
    crops: [
      {crop: "corn", yieldGoal: "195 bu/ac", byZone: {"1": "170 bu/ac"}, byUnit: {HQG01: "180 bu/ac"}},
      {crop: "soybean", yieldGoal: "60 bu/ac"},
    ],
    missing: "zero",
    removal: {corn: {P2O5: 0.35, K2O: 0.2}},
    convertMethod: true,
    policy: {
      bandFactor: 0.8,
      credits: [
        {kind: "manure", nutrient: "P2O5", amount: "4000 gal/ac", content: "42 lb/1000 gal", availablePct: 70},
        {kind: "starter", nutrient: "P2O5", rate: "20 lb/ac", text: "5 gal/ac of 10-34-0 with the planter"},
      ],
      limits: {K2O: {min: "30 lb/ac", max: "150 lb/ac", belowMin: "zero"}},
      overrides: [{unit: "HQG03", nutrient: "P2O5", rate: "60 lb/ac", reason: "manured strip, sampled too early"}],
    },
  },
  lime: {method: "e-2567", targetPh: 6.5, material: {name: "quarry lime", ccePct: 90}},
  products: [
    {analysis: "11-52-0", nutrient: "P2O5", price: "720 $/ton"},
    {analysis: "0-0-60", nutrient: "K2O", price: "420 $/ton"},
  ],
  machine: {step: "5 lb/ac", min: "50 lb/ac", max: "400 lb/ac", swath: "90 ft", merge: {minArea: "0.5 ac"}},
  setbacks: [
    {file: "water.geojson", name: "north ditch", kind: "ditch", distance: "35 ft", rate: "zero"},
    {file: "wells.geojson", name: "wells", kind: "well", distance: "100 ft", rate: {share: 0.5}},
  ],
  handOver: {formats: ["geojson", "shapefile", "iso 11783-10"], folder: true, strategy: "zone"},
  prices: {
    year: 2026,
    lab: "12 $/sample",
    core: "0.40 $/core",
    labour: "30 $/hour",
    yearsServed: 4,
    crops: {corn: "4.20 $/bu", soybean: "10.50 $/bu"},
  },
  compare: {
    holdOuts: {
      files: [{file: "random-bags.csv", sampleId: "Sample ID"}],
      places: {file: "places.csv", sampleId: "id", x: "lon", y: "lat"},
    },
    duplicates: [
      ["HQG01", "HQG01B"],
      ["HQG08", "HQG08B"],
    ],
    noise: {P: {core: 35, lab: 8}, pH: {core: 0.3, lab: 0.05}},
    otherGuides: ["iowa-2013"],
  },
  asApplied: [{files: ["spread-2026-04-20.csv"], product: "0-0-60", plan: "zone", ticket: "18200 lb"}],
};
