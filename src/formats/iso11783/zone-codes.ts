/** Codes with a part of their own; zones of the map are numbered from 1 up to the first of them. */
export const ZONE_CODE = {default: 0, outOfField: 253, positionLost: 254} as const;

export const FIRST_ZONE = 1;
/** A code is one byte and 255 is not used: 255 codes in all, three of them special. */
export const ZONE_ROOM = ZONE_CODE.outOfField - FIRST_ZONE;

/** A zone before it is written: its rates as raw numbers, one for each product. */
export interface ZoneDraft {
  readonly code: number;
  readonly name: string;
  readonly raw: readonly number[];
}
