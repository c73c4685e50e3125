import type {AttachAs, SourceCard} from "../api/types.ts";

export type Settings = Readonly<Record<string, unknown>>;

/** The settings with what was answered to the file's open questions put in its place. */
export function answered(
  settings: Settings,
  as: AttachAs,
  questions: NonNullable<SourceCard["questions"]>,
  answers: readonly string[],
): Settings {
  let out = settings;
  questions.forEach(({about, column, role}, i) => {
    const answer = answers[i]?.trim();
    if (!answer) return;
    if (as === "yield" && role)
      out = withColumn(out, role, about === "unit" ? {column: columnOf(out, role, column), unit: answer} : answer);
    else if (as === "lab" && column) out = withAnswer(out, column, about, answer);
    else out = {...out, [about === "sample id" ? "sampleId" : about]: answer};
  });
  return out;
}

/** The answers to the questions of a lab report that the settings of one like it hold, in their order; empty where none. */
export function answersIn(settings: Settings, questions: NonNullable<SourceCard["questions"]>): string[] {
  const said = (settings.answers ?? []) as readonly Settings[];
  const analytes = settings.analytes as readonly Settings[] | undefined;
  return questions.map(({about, column}) => {
    if (about === "depth") return String(settings.depth ?? "");
    if (about === "sample id") return String(settings.sampleId ?? "");
    const one = (analytes ?? said).find((each) => each.column === column);
    if (one?.leaveOut || (analytes && !one)) return "leave out";
    return String(one?.[about] ?? "");
  });
}

/** The column a role has by now, from the question or as proposed or answered before. */
function columnOf(settings: Settings, role: string, column: string | undefined): string {
  const known = ((settings.columns ?? {}) as Settings)[role] as string | {readonly column: string} | undefined;
  return column ?? (typeof known === "object" ? known.column : (known ?? ""));
}

function withColumn(settings: Settings, role: string, value: unknown): Settings {
  const columns = (settings.columns ?? {}) as Settings;
  return {...settings, columns: {...columns, [role]: value}};
}

/** Answers on one column stand together. */
function withAnswer(settings: Settings, column: string, about: string, answer: string): Settings {
  const answers = (settings.answers ?? []) as readonly (Settings & {column: string})[];
  const mine = answers.find((one) => one.column === column) ?? {column};
  const others = answers.filter((one) => one.column !== column);
  const next = answer === "leave out" ? {leaveOut: true} : {[about]: answer};
  return {...settings, answers: [...others, {...mine, ...next}]};
}
