import { z } from 'zod';
import { id } from './common.ts';

export const pulseLimitsQuery = z.object({
  /** Window of the state of charge that a pulse must not leave. */
  socMin: z.coerce.number().min(0).max(1).default(0),
  socMax: z.coerce.number().min(0).max(1).default(1),
});

/** The largest current of a pulse in one direction, an amount; `binding` is the limit that sets it. */
export const pulseCurrentLimit = z.object({
  pulseIndex: z.int(),
  /** Duration of the measured pulse: the limit holds for pulses as long. */
  durationS: z.number(),
  currentA: z.number(),
  socLimitA: z.number(),
  voltageLimitA: z.number(),
  /** The datasheet's, null where it states none. */
  ratingA: z.number().nullable(),
  binding: z.enum(['soc', 'voltage', 'rating']),
});

/**
 * Largest currents that a cell can hold for a pulse, from a pair of pulses at each state of charge. Computed from measured
 * resistances: the maker's datasheet outranks them.
 */
export const pulseLimits = z.object({
  testId: id,
  fitId: id,
  method: z.string(),
  minVoltageV: z.number().nullable(),
  maxVoltageV: z.number().nullable(),
  items: z.array(
    z.object({
      soc: z.number(),
      ocvV: z.number(),
      ocvSlopeV: z.number(),
      discharge: pulseCurrentLimit,
      charge: pulseCurrentLimit,
    }),
  ),
  /** Why there are none. */
  reason: z
    .enum(['limits-not-stated', 'no-rated-capacity', 'no-open-circuit-curve', 'no-pulse-pairs'])
    .nullable(),
});

export type PulseLimits = z.infer<typeof pulseLimits>;
export type PulseCurrentLimit = z.infer<typeof pulseCurrentLimit>;
