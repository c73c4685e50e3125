import {FieldError, type Issue} from "../errors.ts";
import {formatShort} from "../units/format.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {Guide, GuideCrop} from "./guide.ts";

/** A crop that one application is to serve. */
export interface PlannedCrop {
  readonly crop: string;
  /** In the guide's unit for the crop: bu/ac for grain, ton/ac for hay. */
  readonly yieldGoal: number;
  /** Unit the goal was given in, to be checked against the guide's; absent: taken to be the guide's. */
  readonly yieldUnit?: "bu/ac" | "ton/ac";
  /** Crops of the same year (wheat, then soybean) share the year's buildup and constant; absent: a year of its own. */
  readonly year?: number;
  /** How the yield goal came about, where that is worth a line of the working. */
  readonly goalFrom?: string;
}

/** The harvests of one growing season. */
export interface CropYear {
  /** "corn", "wheat and soybean". */
  readonly label: string;
  readonly harvests: readonly {readonly crop: GuideCrop; readonly yieldGoal: number; readonly goalFrom?: string}[];
}

/**
 * Sorts the crops of one application into years, in the order given.
 *
 * @throws {FieldError} `recommend/no-crop`, `recommend/guide-does-not-fit` for a crop the guide has no numbers for,
 *   `recommend/bad-yield-goal`, `recommend/too-many-crop-years`.
 */
export function cropYears(
  guide: Guide,
  planned: readonly PlannedCrop[],
): {years: readonly CropYear[]; issues: readonly Issue[]} {
  if (planned.length === 0) {
    throw new FieldError("recommend/no-crop", "No crop was named for the application to serve.", {
      hint: "Name at least one crop with its yield goal.",
    });
  }
  const issues: Issue[] = [];
  const byYear = new Map<string, CropYear["harvests"][number][]>();
  planned.forEach(({crop, yieldGoal, yieldUnit, year, goalFrom}, i) => {
    const found = guideCrop(guide, crop);
    if (yieldUnit !== undefined && yieldUnit !== found.yieldUnit) {
      throw new FieldError(
        "recommend/bad-yield-goal",
        `${guide.cite} takes ${found.id} in ${found.yieldUnit}, not ${yieldUnit}.`,
        {
          hint: `Give the yield goal in ${found.yieldUnit}.`,
        },
      );
    }
    const doubt = checkYieldGoal(found, yieldGoal);
    if (doubt) issues.push(doubt);
    const key = year === undefined ? `crop ${i}` : `year ${year}`;
    byYear.set(key, [...(byYear.get(key) ?? []), {crop: found, yieldGoal, ...(goalFrom && {goalFrom})}]);
  });
  if (byYear.size > guide.mostCropYears.value) {
    throw new FieldError(
      "recommend/too-many-crop-years",
      `One application cannot serve ${byYear.size} crop years: ${guide.cite} allows ${guide.mostCropYears.value}.`,
      {hint: "Name only the crops up to the next application, and test the soil again."},
    );
  }
  const years = [...byYear.values()].map((harvests) => ({
    label: harvests.map(({crop}) => crop.id).join(" and "),
    harvests,
  }));
  return {years, issues};
}

/** @throws {FieldError} `recommend/guide-does-not-fit` for a crop the guide has no numbers for. */
export function guideCrop(guide: Guide, name: string): GuideCrop {
  const crop = guide.crops.find(({id}) => id === name.trim().toLowerCase());
  if (crop) return crop;
  const ids = guide.crops.map(({id}) => id);
  const nearest = nearestName(name, ids);
  throw new FieldError("recommend/guide-does-not-fit", `${guide.cite} has no numbers for "${name}".`, {
    hint: nearest ? `Did you mean "${nearest}"?` : `It covers ${ids.join(", ")}; use a guide made for the crop.`,
  });
}

function checkYieldGoal({id, yieldUnit, usualYield}: GuideCrop, goal: number): Issue | undefined {
  if (!(goal > 0 && Number.isFinite(goal))) {
    throw new FieldError(
      "recommend/bad-yield-goal",
      `A yield goal of ${goal} ${yieldUnit} for ${id} is not possible.`,
      {
        hint: `Give the ${yieldUnit} you expect of ${id}.`,
      },
    );
  }
  const [low, high] = usualYield;
  if (goal >= low && goal <= high) return undefined;
  return {
    code: "recommend/unusual-yield-goal",
    severity: "warning",
    message: `A yield goal of ${formatShort(goal)} ${yieldUnit} for ${id} is outside the usual ${low} to ${high}.`,
    hint: `Check that it is in ${yieldUnit} and that the crop is ${id}.`,
  };
}
