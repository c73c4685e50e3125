import {FIELD} from "./farm-tables.ts";
import {type BookTable, moment, of, required, text} from "./table.ts";

// Version 3: what lets a field be opened without running it again, and the names fields had. Frozen: later versions add,
// they change nothing here.

export const VIEW_TABLES: readonly BookTable[] = [
  {
    name: "run_views",
    about: "What the bench shows of results in force, so that they open at once; made again when it is not there",
    columns: [
      of("runs", "run_id", "the run it shows"),
      text("made_by", "version of the program and of the form; another one makes it again", required),
      text("card", "figures, ledger and remarks, as JSON", required),
      text("sha256", "digest of layers, shapes and workings, in the program's own form", required),
    ],
    unique: ["run_id"],
    lookedUpBy: ["sha256"],
  },
  {
    name: "looks",
    about: "What was seen in each file when it was looked at; made again when it is not there",
    columns: [
      text("sha256", "digest of the file's bytes", required),
      text("name", "name it was looked at under", required),
      text("made_by", "version of the program; another one looks again", required),
      text("card", "what it holds, as JSON", required),
    ],
    unique: ["sha256", "name"],
  },
  {
    name: "former_names",
    about: "Names fields had before they were renamed",
    columns: [
      FIELD,
      text("farm", "name of the farm then", required),
      text("name", "name of the field then", required),
      moment("until", "when it was renamed, UTC", required),
    ],
    unique: ["farm", "name"],
    lookedUpBy: ["field_id"],
  },
];
