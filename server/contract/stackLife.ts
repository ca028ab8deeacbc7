import { z } from 'zod';
import { id } from './common.ts';
import { knownReason } from './reasons.ts';

const orNull = z.number().nullable();

/**
 * A value at an age, with its standard uncertainty; null where it is not known. `leftOut`: it stands off its neighbours (a
 * single reading, or a recovery after a rest) and does not count in the change.
 */
const lifePoint = z.object({
  cycle: z.number(),
  value: z.number(),
  standardUncertainty: orNull,
  leftOut: knownReason.nullable(),
});

/** Change from the first to the last age as a fraction, with its 95 % interval. */
const lifeChange = z.object({
  value: z.number(),
  low: orNull,
  high: orNull,
  fromCycle: z.number(),
  toCycle: z.number(),
});

/** One quantity of one cell of a stack over its cycles. */
export const lifeTrack = z.object({
  cellId: id,
  serial: z.string(),
  quantity: z.enum(['capacity', 'resistance']),
  /** `pulse`: pulse and capacity tests; `charge`: R0 at half charge of measured charges. */
  source: z.enum(['pulse', 'charge']),
  unit: z.string(),
  durationS: orNull,
  soc: orNull,
  temperatureC: orNull,
  points: z.array(lifePoint),
  change: lifeChange.nullable(),
  /** Why there is no change: one age only. */
  reason: z.enum(['one-age']).nullable(),
});
export type LifeTrack = z.infer<typeof lifeTrack>;

/** How far the charge in a cell moves away from that in the first cell of its stack. */
export const lifeDrift = z.object({
  cellId: id,
  serial: z.string(),
  /** Charge above empty of this cell minus that of the first cell at the same moment; series charging does not change it. */
  points: z.array(
    z.object({ cycle: z.number(), logId: id, differenceAh: z.number(), standardUncertaintyAh: orNull }),
  ),
  perCycleAh: z.object({ value: z.number(), low: orNull, high: orNull }).nullable(),
  reason: z.enum(['fewer-than-two-ages', 'no-fitted-start-soc']).nullable(),
  /** The interval lies away from 0 and 100 cycles move more than half a percent of the capacity. */
  drifting: z.boolean(),
});
export type LifeDrift = z.infer<typeof lifeDrift>;

/** A stack over its life: resistance, capacity and drift between its cells. */
export const stackLife = z.object({
  stackId: id,
  /** Sentences, the most important first. */
  verdict: z.array(z.string()),
  tracks: z.array(lifeTrack),
  drift: z.array(lifeDrift),
});
export type StackLife = z.infer<typeof stackLife>;

/** What is stored of the drift in a stack, for the lists of stacks and the judgement of lots. */
export const stackDriftNote = z.object({
  schemaVersion: z.literal(1),
  state: z.enum(['drifting', 'steady']),
  cells: z.array(z.object({ cellId: id, perCycleAh: z.number(), drifting: z.boolean() })),
});
