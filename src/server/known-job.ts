import type {Job} from "../pipeline/job.ts";
import {readJob} from "../pipeline/read-job.ts";
import {recent} from "./recent.ts";

const known = recent<Job>(500);

/** Jobs on the shelf have been read before they were put there; reading them again and again is saved. */
export function knownJob(text: string): Job {
  const job = known.get(text) ?? readJob(text, "job.json");
  known.set(text, job);
  return job;
}
