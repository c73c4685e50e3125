import {effect, signal, useSignal} from "@preact/signals";
import {useId} from "preact/hooks";
import {formatNumber} from "../../src/units/format.ts";
import type {ApiProblem, CountChoice} from "../api/types.ts";
import {many} from "../map/scenes.ts";
import {Problem} from "../parts/problem.tsx";
import {page, result, saveJob} from "../state/field.ts";
import {read, write} from "../stations/job-path.ts";
import {Chart, type Mark} from "./chart.tsx";
import {type CountMark, countMarks} from "./counts.ts";
import {InkDefs, inkOf, Patch} from "./inks.tsx";
import {placeOn, ticksTo} from "./scale.ts";

const WIDTH = 270;
const LEFT = 38;
const TOP = 26;
const TALL = 104;
const FOOT = 74;

/** The last time numbers of zones were tried on a field: to look at while one is taken after another. */
const tried = signal<{readonly field: string; readonly version: number; readonly choice: CountChoice} | undefined>(
  undefined,
);

effect(() => {
  const made = result.value;
  if (made?.choice) tried.value = {field: made.field, version: made.version, choice: made.choice};
});

/** How many zones: what each number explains and costs, with the one that is advised; any of them can be taken. */
export function CountOfZones() {
  const found = page.value;
  const wrong = useSignal<ApiProblem | undefined>(undefined);
  if (!found || read(found.job, ["zones", "import"]) !== undefined) return null;
  const take = async (count: number | "choose") => {
    wrong.value = await saveJob(write(found.job, ["zones", "count"], count));
  };
  const last = tried.value?.field === found.card.id ? tried.value : undefined;
  const asked = read(found.job, ["zones", "count"]);
  return (
    <div class="count-of-zones">
      {last && <CountChart choice={last.choice} asked={asked} take={(count) => void take(count)} />}
      {last && last.version !== found.version && asked !== "choose" && (
        <p class="small soft">Tried at change {last.version} of the job; layers or weights may have changed since.</p>
      )}
      {asked !== "choose" && (
        <button type="button" onClick={() => void take("choose")}>
          {last ? "Try the numbers again" : "Try all numbers and choose for me"}
        </button>
      )}
      {wrong.value && <Problem problem={wrong.value} />}
    </div>
  );
}

interface Props {
  readonly choice: CountChoice;
  /** What the job says now. */
  readonly asked: unknown;
  readonly take: (count: number) => void;
}

function CountChart({choice, asked, take}: Props) {
  const id = useId();
  const marks = countMarks(choice);
  const now = asked === "choose" ? choice.recommended.count : (asked ?? 4);
  const measured = choice.keptBack.length > 0 ? "of what was kept back" : "of the other half of the field";
  const ticks = ticksTo(Math.max(0.1, ...marks.map(({explained, chance = 0}) => Math.max(explained, chance))), 4);
  const y = placeOn([0, ticks.at(-1) ?? 1], [TOP + TALL, TOP]);
  const step = (WIDTH - LEFT) / marks.length;
  const x = (i: number): number => LEFT + (i + 0.5) * step;
  const priced = marks.some(({cost}) => cost !== undefined);
  const bars = step * 0.56;
  return (
    <Chart
      title="Numbers of zones tried"
      axes={`number of zones along; share ${measured} that they explain upright; bags and dollars for one round of sampling beneath`}
      width={WIDTH}
      height={TOP + TALL + FOOT + (priced ? 16 : 0)}
      marks={marks.map(
        (mark, i): Mark => ({
          id: String(mark.count),
          says: `${says(mark, measured)} ${mark.count === now ? "In use." : "Press to take it."}`,
          x: x(i) - step / 2 + 1,
          y: 2,
          width: step - 2,
          height: TOP + TALL + FOOT - 8,
          take: () => take(mark.count),
        }),
      )}
      legend={
        <>
          <Patch id={id} ink="plain" name="advised" />
          {marks.some(({chance}) => chance !== undefined) && (
            <span class="ink">— — chance: 95 of 100 maps laid anywhere stay under</span>
          )}
          {marks.some(({fewer}) => fewer !== undefined) && (
            <span class="ink">* joining small pieces leaves fewer zones, and so fewer bags</span>
          )}
          {priced && <span class="ink">$: {paidFor()}, one round</span>}
        </>
      }
      says={choice.recommended.sentence}
      table={{
        head: ["zones", `explain, % ${measured}`, "by chance under, %", "bags", "sampling, $", "advised"],
        rows: marks.map(({count, explained, chance, bags, cost, recommended, fewer}) => [
          `${count}${fewer === undefined ? "" : `, tidied to ${fewer}`}`,
          formatNumber(100 * explained, 1),
          chance === undefined ? "—" : formatNumber(100 * chance, 1),
          formatNumber(bags),
          cost === undefined ? "no price" : formatNumber(cost),
          recommended ? "yes" : "",
        ]),
      }}
    >
      <InkDefs id={id} of={["plain"]} />
      <text x="0" y="11" class="axis">
        explained, %
      </text>
      {ticks.map((tick) => (
        <g key={tick}>
          <path d={`M${LEFT} ${y(tick)}H${WIDTH}`} class={tick === 0 ? "ground" : "rule"} />
          <text x={LEFT - 5} y={y(tick) + 4} class="axis" text-anchor="end">
            {formatNumber(100 * tick)}
          </text>
        </g>
      ))}
      {marks.map(({count, explained, chance, bags, cost, recommended, fewer}, i) => (
        <g key={count}>
          <rect
            x={x(i) - bars / 2}
            y={y(explained)}
            width={bars}
            height={y(0) - y(explained)}
            fill={recommended ? inkOf(id, "plain") : "#fffdf8"}
            stroke="#1f2a2e"
            stroke-width="0.9"
          />
          {chance !== undefined && chance > 0 && (
            <path d={`M${x(i) - step / 2 + 3} ${y(chance)}H${x(i) + step / 2 - 3}`} class="chance" />
          )}
          {count === now && <circle cx={x(i)} cy={TOP + TALL + 15} r="9" class="taken" />}
          <text x={x(i)} y={TOP + TALL + 19} class={`figure ${recommended ? "strong" : ""}`} text-anchor="middle">
            {count}
          </text>
          <text x={x(i)} y={TOP + TALL + 42} class="axis" text-anchor="middle">
            {formatNumber(bags)}
            {fewer !== undefined && "*"}
          </text>
          {priced && (
            <text x={x(i)} y={TOP + TALL + 58} class="axis" text-anchor="middle">
              {cost === undefined ? "—" : formatNumber(cost)}
            </text>
          )}
        </g>
      ))}
      <text x="0" y={TOP + TALL + 19} class="axis">
        zones
      </text>
      <text x="0" y={TOP + TALL + 42} class="axis">
        bags
      </text>
      {priced && (
        <text x="0" y={TOP + TALL + 58} class="axis">
          $
        </text>
      )}
    </Chart>
  );
}

/** A lab price makes a cost; cores are in it where they have one. */
function paidFor(): string {
  const withCores = read(page.value?.job, ["prices", "core"]) !== undefined;
  return withCores ? "lab and cores" : "the lab alone, without cores";
}

function says({count, explained, chance, bags, cost, recommended, fewer}: CountMark, measured: string): string {
  const by = chance === undefined ? "" : ` (chance: under ${formatNumber(100 * chance)} %)`;
  const price = cost === undefined ? "" : `, $${formatNumber(cost)} a round`;
  return `${many(count, "zone")}: explain ${formatNumber(100 * explained)} % ${measured}${by}; ${many(bags, "bag")}${price}.${fewer === undefined ? "" : ` Joining small pieces leaves ${many(fewer, "zone")}.`}${recommended ? " Advised." : ""}`;
}
