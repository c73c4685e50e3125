import {formatNumber} from "../../src/units/format.ts";

const METRES_PER_FOOT = 0.3048;
const LENGTHS_FT = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000];

/** The longest round length that fits in 90 pixels. */
export function ScaleBar({metresPerPixel}: {readonly metresPerPixel: number}) {
  const fits = LENGTHS_FT.filter((feet) => (feet * METRES_PER_FOOT) / metresPerPixel <= 90);
  const feet = fits.at(-1) ?? (LENGTHS_FT[0] as number);
  const width = Math.max(2, Math.round((feet * METRES_PER_FOOT) / metresPerPixel));
  return (
    <span style="display:flex;align-items:center;gap:6px">
      <svg width={width + 2} height="10" aria-hidden="true">
        <path d={`M1 6H${width + 1}M1 2V10M${width + 1} 2V10M${1 + width / 2} 4V8`} stroke="#1f2a2e" fill="none" />
      </svg>
      {formatNumber(feet)} ft
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
