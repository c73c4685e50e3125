import {signal} from "@preact/signals";
import {api, got} from "../api/client.ts";
import type {GuideCard} from "../api/types.ts";
import {page} from "../state/field.ts";
import {read} from "./job-path.ts";

/** The guides that come with the program; empty until the server has answered. */
export const guides = signal<readonly GuideCard[]>([]);

let asked = false;

export function loadGuides(): void {
  if (asked) return;
  asked = true;
  got(api.guides.$get()).then(
    (found) => {
      guides.value = found;
    },
    () => {
      asked = false;
    },
  );
}

/** What the job's guide is known to have; absent for one from a file. */
export function guideOfJob(): GuideCard | undefined {
  const named = read(page.value?.job, ["rates", "guide"]) ?? USUAL_GUIDE;
  return guides.value.find(({id}) => id === named);
}

export const USUAL_GUIDE = "tri-state-2020";
