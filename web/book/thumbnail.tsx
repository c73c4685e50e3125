import type {FieldCard} from "../api/types.ts";

const [WIDTH, HEIGHT, MARGIN] = [280, 150, 12];

/** A field's outline, true to shape. */
export function Thumbnail({outline}: {readonly outline: FieldCard["outline"]}) {
  const all = outline.flat(2);
  if (all.length === 0) return <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true" />;
  const squeeze = Math.cos((((all[0] as readonly number[])[1] ?? 0) * Math.PI) / 180);
  const xs = all.map(([lon = 0]) => lon * squeeze);
  const ys = all.map(([, lat = 0]) => lat);
  const [west, east, south, north] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const scale = Math.min((WIDTH - 2 * MARGIN) / (east - west || 1), (HEIGHT - 2 * MARGIN) / (north - south || 1));
  const left = (WIDTH - (east - west) * scale) / 2;
  const top = (HEIGHT - (north - south) * scale) / 2;
  const path = outline
    .flat()
    .map(
      (ring) =>
        `M${ring
          .map(
            ([lon = 0, lat = 0]) =>
              `${(left + (lon * squeeze - west) * scale).toFixed(1)} ${(top + (north - lat) * scale).toFixed(1)}`,
          )
          .join("L")}Z`,
    )
    .join("");
  return (
    <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true">
      <path d={path} fill="#c9d9e4" fill-rule="evenodd" stroke="#1f2a2e" stroke-width="1.5" stroke-linejoin="round" />
    </svg>
  );
}
