import {FIELD} from "./farm-tables.ts";
import {OF_RUN} from "./result-tables.ts";
import {type BookTable, day, moment, of, real, required, text, whole, yesNo} from "./table.ts";

// Version 2: what was spread, the crew's way and the cores it took. Frozen: later versions add, they change nothing here.

export const APPLIED_TABLES: readonly BookTable[] = [
  {
    name: "routes",
    about: "The crew's way past all cores",
    geometry: "LINESTRING",
    columns: [
      ...OF_RUN,
      text("strategy", '"whole-field", "grid" or "zone"', required),
      real("length_m", "metres", required),
    ],
    lookedUpBy: ["run_id"],
  },
  {
    name: "cores_taken",
    about: "Where the crew really took cores, by its log",
    geometry: "POINT",
    columns: [
      ...OF_RUN,
      text("plan", '"whole-field", "grid", "zone" or "validation"', required),
      text("sample", "sample id of the bag it went into", required),
      whole("core", "number of the planned core it stands for"),
      real("distance_ft", "from where it was planned, feet"),
      text("known_by", "how its bag is known: id, place, time or ground", required),
      text("fell_in", "sampling unit it was taken on"),
      yesNo("off", "further from its mark than allowed, or not on the ground of its bag", required),
    ],
    lookedUpBy: ["run_id"],
  },
  {
    name: "as_applied",
    about: "Passes of a spreader: what was put on when",
    columns: [
      FIELD,
      text("product", "what was spread", required),
      day("spread_on", "the day, where it is known"),
      text("source_sha256", "digest of the controller's file, which is among the sources"),
      real("total_lb", "lb of product, by the controller"),
      moment("added_at", "when it was put in, UTC", required),
      text("added_by", "who", required),
    ],
    lookedUpBy: ["field_id"],
  },
  {
    name: "as_applied_points",
    about: "What the spreader's controller logged",
    geometry: "POINT",
    columns: [
      of("as_applied", "as_applied_id", "the pass"),
      whole("position", "counts from 1 in the order logged", required),
      real("rate_lb_ac", "lb of product per acre, as measured"),
      real("target_lb_ac", "lb of product per acre, as asked for"),
    ],
    lookedUpBy: ["as_applied_id"],
  },
];

/** The column version 2 adds to a table of version 1. */
export const FIELD_PREFIX = text("prefix", "letters that start the field's sample ids, where a job gives them");
