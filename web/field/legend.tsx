import {hatchUrl} from "../map/hatches.ts";
import type {Legend as LegendOf} from "../map/scene.ts";

export function Legend({legend}: {readonly legend: LegendOf}) {
  if (legend.classes) {
    return (
      <span class="legend">
        {legend.classes.map(({name, colour, hatch}) => (
          <span key={name} class="class">
            <i
              style={{background: hatch ? `url(${hatchUrl(hatch)}) center / 16px ${colour}` : colour}}
              aria-hidden="true"
            />{" "}
            {name}
          </span>
        ))}
      </span>
    );
  }
  return (
    <span class="legend">
      {legend.title}
      <b class="figures" style="font-weight:400">
        {legend.least}
      </b>
      <span class="steps" aria-hidden="true">
        {legend.steps.map((colour) => (
          <i key={colour} style={{background: colour}} />
        ))}
      </span>
      <b class="figures" style="font-weight:400">
        {legend.most}
      </b>
    </span>
  );
}
