import {NAMES} from "../map/scenes.ts";
import {selection} from "../state/view.ts";
import {say} from "../units/shown.ts";
import {ground} from "./at-point.ts";

/** All layers at the place that was clicked, and what each strategy gives it. */
export function GroundHere() {
  const here = ground.value;
  const chosen = selection.value;
  if (!here) return <p class="soft">Looking at the ground here…</p>;
  if (!here.inside) return <p class="note">That place is outside the field.</p>;
  return (
    <section class="here">
      <h3>The ground here</h3>
      <p class="small soft figures">
        {chosen?.lat?.toFixed(5)}, {chosen?.lon?.toFixed(5)}
      </p>
      <table>
        <tbody>
          {here.layers.map(({id, label, value, unit}) => (
            <tr key={id}>
              <th scope="row">{label}</th>
              <td>
                {value === null
                  ? "no data"
                  : typeof value === "number"
                    ? say(value, unit, {decimals: 2, short: true})
                    : value}
              </td>
            </tr>
          ))}
          {here.units.map(({strategy, label, unit, rates}) => (
            <tr key={strategy}>
              <th scope="row">
                {NAMES[strategy]}: {label}
                <span class="small soft"> {unit}</span>
              </th>
              <td>{rates.map(({analysis, lbPerAcre}) => `${say(lbPerAcre, "lb/ac")} of ${analysis}`).join(", ")}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
