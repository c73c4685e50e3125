import {formatShort} from "../../src/units/format.ts";
import type {ExplainedRate} from "../api/types.ts";

const BANDS = ["#e5dccb", "#cdbf9f", "#a08c5b", "#7d6a35", "#5c4a14"];

/** The soil test on the guide's own scale of classes. */
export function TestScale({rate}: {readonly rate: ExplainedRate}) {
  const limits = rate.classLimits?.upTo ?? [];
  if (limits.length === 0) return null;
  const {value, unit, method} = rate.test;
  const end = Math.max((limits.at(-1) as number) * 1.5, value * 1.08);
  const at = (x: number) => `${(100 * Math.max(0, Math.min(1, x / end))).toFixed(2)}%`;
  const edges = [0, ...limits, end];
  const names = rate.classLimits?.names.join(", ");
  return (
    <div
      class="test-scale"
      role="img"
      aria-label={`${formatShort(value, 1)} ${unit} by ${method} on a scale of ${names}, parted at ${limits.join(" and ")}`}
    >
      <div class="band">
        {edges.slice(1).map((edge, i) => (
          <i
            key={edge}
            style={{
              width: `${(100 * (edge - (edges[i] as number))) / end}%`,
              background: BANDS[Math.min(i, BANDS.length - 1)],
            }}
          />
        ))}
      </div>
      <span class="pin" style={{left: at(value)}} />
      {limits.map((limit) => (
        <span class="tick" key={limit} style={{left: at(limit), color: "var(--soft)", fontWeight: 400}}>
          {formatShort(limit, 1)}
        </span>
      ))}
    </div>
  );
}
