import type {ResultCard} from "./api-types.ts";

type Plain = Readonly<Record<string, unknown>>;

/**
 * The job with its lab results tied, by their marks, to the plans that are in force before a change: what the change makes
 * of zones, cells or boundary can then not move a result to other ground in silence.
 *
 * Results that say where they were taken, and plans that repeat earlier ones, need no mark. A mark that is there stays, and
 * so does one that the same reports had before.
 *
 * @param before - The job that is changed.
 * @param plans - Those of the last result, if it is of that job.
 */
export function tiedToPlans(job: Plain, before: Plain, plans: ResultCard["strategies"]): Plain {
  const lab = job.lab as Plain | undefined;
  if (lab === undefined) return job;
  const files = (Array.isArray(lab.files) ? lab.files : []) as readonly Plain[];
  if (lab.places !== undefined || files.some(({x, y}) => x !== undefined && y !== undefined)) return job;
  const sampling = job.sampling as Plain | undefined;
  const own = plans.filter(({strategy}) => {
    const settings = sampling?.[strategy === "whole-field" ? "wholeField" : strategy] as Plain | undefined;
    return settings?.repeat === undefined;
  });
  const had = before.lab as Plain | undefined;
  const marks = {
    ...Object.fromEntries(own.map(({strategy, mark}) => [strategy, mark])),
    ...(JSON.stringify(had?.files) === JSON.stringify(files) && (had?.plans as Plain | undefined)),
    ...(lab.plans as Plain | undefined),
  };
  return Object.keys(marks).length === 0 ? job : {...job, lab: {...lab, plans: marks}};
}
