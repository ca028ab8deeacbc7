import { z } from 'zod';
import { id, instant } from './common.ts';

/** Steps of building a stack that are done and looked at rather than measured. */
export const travellerStep = z.enum(['no-damage', 'brought-to-same-voltage', 'sense-wire-joined']);

const volts = z.number().gt(0).max(10);
const jointOhm = z.number().gt(0).max(0.1);
/** A joint, by the place of the cell before it, counted from 1. */
const placeOfJoint = z.int().min(1).max(15);

/** What was read from one cell of the stack while it was built. */
const cellResult = z.strictObject({
  cellId: id,
  /** Must be the serial that the stack has there. */
  serialRead: z.string().min(1).max(200).optional(),
  openCircuitVoltageV: volts.optional(),
  /** The voltage of the cell as the charger sees it, through its sense wires. */
  chargerVoltageV: volts.optional(),
});

/** Results of the paper that goes with a stack while it is built; each part may be left out. */
export const keepTraveller = z.strictObject({
  cells: z.array(cellResult).max(16).default([]),
  /** Of all joints between the cells together, where they were not measured one by one. */
  jointsOhm: jointOhm.optional(),
  /** Each weld or other joint between two cells. */
  joints: z
    .array(z.strictObject({ after: placeOfJoint, ohm: jointOhm }))
    .max(15)
    .default([]),
  steps: z.array(travellerStep).max(10).default([]),
});

/** The results as they were kept. The voltages are also measurements of their cells. */
export const traveller = z.object({
  id,
  createdAt: instant,
  createdBy: z.string(),
  cells: z.array(
    z.object({
      cellId: id,
      serial: z.string(),
      serialRead: z.boolean(),
      openCircuitVoltageV: z.number().nullable(),
      chargerVoltageV: z.number().nullable(),
    }),
  ),
  /** All joints together: as measured, or the sum of `joints` where each one was measured; else null. */
  jointsOhm: z.number().nullable(),
  joints: z.array(z.object({ after: placeOfJoint, ohm: z.number() })),
  steps: z.array(travellerStep),
});
export const travellerList = z.object({ items: z.array(traveller) });

/** What is stored of a traveller with its stack. */
export const storedTraveller = traveller.omit({ id: true, createdAt: true, createdBy: true }).extend({
  schemaVersion: z.literal(1),
  // Travellers that were kept before joints were measured one by one have none.
  joints: traveller.shape.joints.default([]),
});

export type TravellerStep = z.infer<typeof travellerStep>;
export type KeepTraveller = z.infer<typeof keepTraveller>;
export type KeepTravellerInput = z.input<typeof keepTraveller>;
export type Traveller = z.infer<typeof traveller>;
export type StoredTraveller = z.infer<typeof storedTraveller>;
