import {amountIn, figures, unitSystem} from "../units/shown.ts";

/** Feet, or metres. */
const LENGTHS = [5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000];

/** The longest round length that fits in 90 pixels. */
export function ScaleBar({metresPerPixel}: {readonly metresPerPixel: number}) {
  const unit = unitSystem.value === "us" ? "ft" : "m";
  const metres = (length: number): number => amountIn(length, unit, {system: "metric"}).value;
  const fits = LENGTHS.filter((length) => metres(length) / metresPerPixel <= 90);
  const length = fits.at(-1) ?? (LENGTHS[0] as number);
  const width = Math.max(2, Math.round(metres(length) / metresPerPixel));
  return (
    <span style="display:flex;align-items:center;gap:6px">
      <svg width={width + 2} height="10" aria-hidden="true">
        <path d={`M1 6H${width + 1}M1 2V10M${width + 1} 2V10M${1 + width / 2} 4V8`} stroke="#1f2a2e" fill="none" />
      </svg>
      {figures(length, unit)} {unit}
    </span>
  );
}

export function NorthArrow() {
  return (
    <svg width="16" height="26" role="img" aria-label="North is up">
      <path d="M8 25V8M4 12L8 5.5L12 12" stroke="#1f2a2e" fill="none" />
      <text x="8" y="5" text-anchor="middle" font-size="0">
        N
      </text>
    </svg>
  );
}
