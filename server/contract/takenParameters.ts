import { z } from 'zod';
import { givenName, id } from './common.ts';
import { supplyPart } from './supplyParts.ts';

/** What of an evaluation becomes a parameter of a cell. */
export const takenQuantity = z.enum(['capacity', 'r0', 'branches', 'heat']);
export type TakenQuantity = z.infer<typeof takenQuantity>;

/** What is taken over from an evaluation of stack logs; nothing that is there is overwritten. */
export const takeOver = z.strictObject({
  cells: z.array(z.strictObject({ cellId: id, quantities: z.array(takenQuantity).min(1) })).default([]),
  /** The resistance of the connections becomes that of the stack. */
  stackResistance: z.boolean().default(false),
  /** The output resistance and fixed loss become the next revision of the kept converter of this name, its equal paths alike. */
  converter: givenName.optional(),
  /** The resistance of the cable becomes the next revision of the kept cable of this name. */
  cable: givenName.optional(),
});
export type TakeOver = z.infer<typeof takeOver>;

/** What taking over has made. */
export const takenOver = z.object({
  /** Capacities that became measurements of their cells. */
  capacities: z.int(),
  /** Fits that hold a capacity, the scale of a cell's resistances or its heat, or the resistance of the stack. */
  fitIds: z.array(id),
  supplyParts: z.array(supplyPart),
});
export type TakenOver = z.infer<typeof takenOver>;

const factor = z.object({ value: z.number(), standardUncertainty: z.number() });

/** A stored scale of a cell's circuit tables: factors on all of them that are older, beside those of other evaluations. */
export const takenScale = z.object({
  schemaVersion: z.literal(1),
  r0Factor: factor.nullable(),
  branchFactor: factor.nullable(),
});
export type TakenScale = z.infer<typeof takenScale>;

/** A stored heat balance of a cell; both values, because one alone computes no temperature. */
export const takenHeat = z.object({
  schemaVersion: z.literal(1),
  heatCapacityJPerK: factor,
  heatTransferWPerK: factor,
});
export type TakenHeat = z.infer<typeof takenHeat>;

/** The stored resistance between the point where the stack voltage is sensed and the cells. */
export const takenStackResistance = z.object({
  schemaVersion: z.literal(1),
  valueOhm: z.number(),
  low: z.number(),
  high: z.number(),
});
