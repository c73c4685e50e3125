import type {Strategy} from "../api/types.ts";
import {strategies} from "../field/three-maps.tsx";
import {NAMES} from "../map/scenes.ts";
import {result} from "../state/field.ts";
import {shapesOf} from "../state/shapes.ts";
import {select, selection} from "../state/view.ts";

/** The keyboard's way to a unit. */
export function ChooseUnit() {
  const made = result.value;
  if (!made) return null;
  const strategy = selection.value?.strategy ?? "zone";
  const card = made.strategies.find((one) => one.strategy === strategy);
  const name = `plan-${strategy}-units`;
  const units = made.shapes.includes(name) ? (shapesOf(made.id, name)?.features ?? []) : [];
  const choices = card?.pooled
    ? [{id: "whole field", label: "whole field, one rate"}]
    : units.map(({id, properties}) => ({
        id: String(properties?.sample ?? id),
        label: `${properties?.label ?? id}, ${properties?.sample ?? id}`,
      }));
  return (
    <div class="choose-unit">
      <select
        aria-label="Strategy"
        value={strategy}
        onChange={({currentTarget}) => {
          const next = currentTarget.value as Strategy;
          select({strategy: next, ...(isPooled(next) && {unit: "whole field"})});
        }}
      >
        {strategies.value.map((one) => (
          <option key={one} value={one}>
            {NAMES[one]}
          </option>
        ))}
      </select>
      <select
        aria-label="Unit"
        value={selection.value?.unit ?? ""}
        onChange={({currentTarget}) => select({strategy, unit: currentTarget.value})}
      >
        <option value="" disabled>
          choose a unit
        </option>
        {choices.map(({id, label}) => (
          <option key={id} value={id}>
            {label}
          </option>
        ))}
      </select>
    </div>
  );
}

const isPooled = (strategy: Strategy): boolean =>
  result.value?.strategies.find((one) => one.strategy === strategy)?.pooled === true;
