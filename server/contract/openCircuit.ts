import { z } from 'zod';
import { reasonCode } from './reasons.ts';

const number = z.number();
const nullableNumber = z.number().nullable();

/** Open-circuit voltage at the end of a rest. */
export const restPoint = z.object({
  stepIndex: z.int(),
  timeS: number,
  restS: number,
  soc: nullableNumber,
  temperatureC: nullableNumber,
  /** Last voltage of the rest. */
  voltageV: number,
  /** OCV with the relaxation extrapolated by the fitted model; null where that cannot be done. */
  ocvV: nullableNumber,
  ocvStandardUncertaintyV: nullableNumber,
  /** How far the extrapolation goes beyond the last voltage. */
  extrapolatedV: nullableNumber,
  reason: reasonCode,
  after: z.enum(['charge', 'discharge', 'unknown']),
  /** Slope at the end of the rest and its uncertainty (the K value), in mV a day. */
  driftMvPerDay: nullableNumber,
  driftStandardUncertaintyMvPerDay: nullableNumber,
  driftReason: reasonCode,
  /** What the uncertainty of the drift takes for granted. Missing in evaluations before version 1.11.0. */
  driftAssumes: reasonCode.optional(),
});

export const openCircuitCurve = z.object({
  source: z.enum(['rests', 'slow-discharge', 'slow-charge', 'slow-average']),
  soc: z.array(number),
  ocvV: z.array(number),
  standardUncertaintyV: z.array(number),
  /** dOCV/dSOC in V per unit of SOC, at the same SOC. */
  slopeV: z.array(number),
  /** Charge minus discharge at the same SOC, where both are known. */
  hysteresisV: z.array(nullableNumber),
  /** What the uncertainty takes for granted. Missing in evaluations before pulse version 1.12.0 and capacity version 2.4.0. */
  assumes: reasonCode.optional(),
});

export type RestPoint = z.infer<typeof restPoint>;
export type OpenCircuitCurve = z.infer<typeof openCircuitCurve>;
