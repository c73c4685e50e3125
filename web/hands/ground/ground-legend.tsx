import "./ground.css";
import {groundsShown} from "./grounds-on-map.ts";

/** What the hatches of keep-outs and setbacks stand for, where the maps show any. */
export function GroundLegend() {
  const shown = groundsShown();
  if (shown.length === 0) return null;
  return (
    <span class="legend">
      {shown.map((kind) => (
        <span class="class" key={kind}>
          <svg width="26" height="14" aria-hidden="true">
            {kind === "keep-out" ? (
              <path d="M5 5l4 4m0-4l-4 4M17 5l4 4m0-4l-4 4" class="hatch" />
            ) : (
              <path d="M2 7q2.75-5 5.5 0t5.5 0 5.5 0 5.5 0" class="hatch" />
            )}
            <rect
              x="1"
              y="1"
              width="24"
              height="12"
              class="hatch"
              stroke-dasharray={kind === "setback" ? "5 2 1 2" : undefined}
            />
          </svg>
          {kind === "keep-out" ? "kept out of: no core" : "set back: less goes on, or nothing"}
        </span>
      ))}
    </span>
  );
}
