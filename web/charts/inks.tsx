// Tints of one hue with a hatch each, so that a chart reads the same in black and white.

/** By name; the first is the plainest. */
const INKS = {
  plain: {fill: "#94b7cf", hatch: ""},
  dots: {fill: "#e9e2d0", hatch: "M2 2h.01M6 6h.01"},
  slanted: {fill: "#fffdf8", hatch: "M-1 5L5 -1M3 9L9 3"},
  deep: {fill: "#2e628c", hatch: ""},
  poor: {fill: "#efe6d2", hatch: "M-1 5L5 -1M3 9L9 3"},
  fair: {fill: "#dcc894", hatch: ""},
  good: {fill: "#bda35a", hatch: "M2 2h.01M6 6h.01"},
  rich: {fill: "#94803b", hatch: ""},
  over: {fill: "#756327", hatch: "M4 0V8"},
  none: {fill: "#fffdf8", hatch: "M0 4H8"},
} as const;

export type Ink = keyof typeof INKS;

/** Hatches are looked up by name from anywhere in the page; each chart brings those it uses. */
export function InkDefs({id, of}: {readonly id: string; readonly of: readonly Ink[]}) {
  return (
    <defs>
      {of.map((ink) => (
        <pattern key={ink} id={`${id}-${ink}`} width="8" height="8" patternUnits="userSpaceOnUse">
          <rect width="8" height="8" fill={INKS[ink].fill} />
          <path
            d={INKS[ink].hatch}
            stroke="#1f2a2e"
            stroke-width={ink === "dots" || ink === "good" ? 1.8 : 0.8}
            stroke-linecap="round"
          />
        </pattern>
      ))}
    </defs>
  );
}

export const inkOf = (id: string, ink: Ink): string => `url(#${id}-${ink})`;

/** A patch of an ink with what it stands for. */
export function Patch({id, ink, name}: {readonly id: string; readonly ink: Ink; readonly name: string}) {
  return (
    <span class="ink">
      <svg width="22" height="12" aria-hidden="true">
        <rect x="0.5" y="0.5" width="21" height="11" fill={inkOf(id, ink)} stroke="#1f2a2e" stroke-width="0.6" />
      </svg>
      {name}
    </span>
  );
}
