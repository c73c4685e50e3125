import {rate, z} from "./shared.ts";

export const machineSection = z
  .strictObject({
    step: rate("rate step", "5 lb/ac").prefault("1 lb/ac"),
    min: rate("smallest rate", "50 lb/ac").prefault("0 lb/ac"),
    max: rate("largest rate", "400 lb/ac").prefault("600 lb/ac"),
    belowMin: z.enum(["zero", "minimum"]).default("zero"),
    outside: rate("rate outside the field", "0 lb/ac").prefault("0 lb/ac"),
  })
  .prefault({});
