import {type BookTable, bytes, moment, of, real, required, text, whole, yesNo} from "./table.ts";

// Version 1: what a farm is made of and what was put into its book. Frozen: later versions add, they change nothing here.

export const FIELD = of("fields", "field_id", "the field");

export const FARM_TABLES: readonly BookTable[] = [
  {
    name: "book",
    about: "Facts about the book itself",
    columns: [text("key", "what is told", required), text("value", "the fact", required)],
    unique: ["key"],
  },
  {
    name: "migrations",
    about: "Versions of the tables this book has gone through",
    columns: [
      whole("version", "version of the tables", required),
      text("title", "what it brought", required),
      moment("applied_at", "when, UTC", required),
    ],
    unique: ["version"],
  },
  {
    name: "farms",
    about: "Farms",
    columns: [text("name", "as jobs name it; empty where they name none", required)],
    unique: ["name"],
  },
  {
    name: "fields",
    about: "Fields with their present boundaries",
    geometry: "MULTIPOLYGON",
    columns: [
      of("farms", "farm_id", "the farm"),
      text("farm", "name of the farm", required),
      text("name", "as jobs name it", required),
      real("area_m2", "geodesic area, square metres", required),
      real("acres", "the same in acres", required),
      real("frame_lon", "centre of the field's own metric frame, degrees", required),
      real("frame_lat", "the same", required),
    ],
    unique: ["farm_id", "name"],
  },
  {
    name: "seasons",
    about: "What is known to have grown, or is meant to, and when soil was sampled",
    columns: [
      FIELD,
      whole("year", "calendar year", required),
      text("what", '"yield log", "crop planned" or "soil samples"', required),
      text("crop", "the crop; empty where none is meant", required),
    ],
    unique: ["field_id", "year", "what", "crop"],
  },
  {
    name: "blobs",
    about: "Every file once, whoever uses it, by the digest of its bytes",
    columns: [text("sha256", "hex digest of all bytes", required), whole("size", "bytes", required)],
    unique: ["sha256"],
  },
  {
    name: "blob_parts",
    about: "The bytes of the files, in parts of at most 16 MiB; most have one",
    columns: [
      text("sha256", "digest of the whole file", required),
      whole("part", "counts from 0", required),
      bytes("content", "the bytes as they were put in", required),
    ],
    unique: ["sha256", "part"],
  },
  {
    name: "sources",
    about: "Files put into the book, each version of each; none is ever removed",
    columns: [
      FIELD,
      text("name", "as the job names it", required),
      text("kind", '"job" or "file"', required),
      whole("version", "counts from 1 for each name", required),
      yesNo("current", "whether it is the version in force", required),
      text("sha256", "digest of its bytes", required),
      whole("size", "bytes", required),
      moment("added_at", "when, UTC", required),
      text("added_by", "who", required),
    ],
    unique: ["field_id", "name", "version"],
    lookedUpBy: ["sha256"],
  },
  {
    name: "asked",
    about: "What each job that was put in asks of each step of a run",
    columns: [
      text("job_sha256", "digest of the job file", required),
      text("step", "the step", required),
      text("settings", "the part of the job the step rests on, as JSON, with defaults filled in", required),
      text("settings_sha256", "digest of it", required),
    ],
    unique: ["job_sha256", "step"],
  },
  {
    name: "notes",
    about: "What people wrote down, with the place where there is one",
    geometry: "POINT",
    columns: [
      FIELD,
      text("text", "the note", required),
      moment("written_at", "when, UTC", required),
      text("written_by", "who", required),
    ],
    lookedUpBy: ["field_id"],
  },
  {
    name: "log",
    about: "Who did what, in order; rows are only ever added",
    columns: [
      moment("at", "when, UTC", required),
      text("who", "who", required),
      text("what", 'as in "put in", "ran", "restored"', required),
      text("field", "the field, where it was about one"),
      text("detail", "the particulars, as JSON", required),
      text("chain", "digest of this row and the chain before it: a changed or missing row shows", required),
    ],
  },
];
