import type {Station} from "../api/types.ts";
import {sayStation} from "../itinerary/say-station.ts";
import {page} from "../state/field.ts";
import {LabStation} from "./lab-station.tsx";
import {LayersStation} from "./layers-station.tsx";
import {LedgerStation} from "./ledger-station.tsx";
import {PlanStation} from "./plan-station.tsx";
import {RatesStation} from "./rates-station.tsx";
import {ZonesStation} from "./zones-station.tsx";

const PANELS = {
  layers: LayersStation,
  zones: ZonesStation,
  plan: PlanStation,
  lab: LabStation,
  rates: RatesStation,
  compare: LedgerStation,
} as const;

const NAMES = {layers: "Layers", zones: "Zones", plan: "Plan", lab: "Lab", rates: "Rates", compare: "Ledger"} as const;

/** The few settings of a station that matter; a change is worked out at once. */
export function StationPanel({station}: {readonly station: Exclude<Station, "hand-over">}) {
  const Panel = PANELS[station];
  return (
    <section class="rows-of" style="gap:14px" aria-label={`${NAMES[station]}, settings`}>
      <div>
        <h2>{NAMES[station]}</h2>
        <p class="small soft">{page.value && sayStation(page.value, station)}</p>
      </div>
      <Panel />
    </section>
  );
}
