import { z } from 'zod';
import { direction } from './evaluatedPulse.ts';
import { reasonCode } from './reasons.ts';

const number = z.number();
const nullableNumber = z.number().nullable();

/** DC resistance by the two-level method of IEC 61960-3. */
export const twoLevelResistance = z.object({
  startTimeS: number,
  firstCurrentA: number,
  secondCurrentA: number,
  firstVoltageV: nullableNumber,
  secondVoltageV: nullableNumber,
  valueOhm: nullableNumber,
  standardUncertaintyOhm: nullableNumber,
  socBefore: nullableNumber,
  temperatureC: nullableNumber,
  reason: reasonCode,
  method: z.string(),
});

/** Pulse-power resistance and power of the HPPC kind: a discharge pulse, a rest and a charge pulse. */
export const pulsePower = z.object({
  dischargePulseIndex: z.int(),
  chargePulseIndex: z.int().nullable(),
  socBefore: nullableNumber,
  dischargeDurationS: number,
  dischargeResistanceOhm: nullableNumber,
  dischargeStandardUncertaintyOhm: nullableNumber,
  dischargeOcvV: nullableNumber,
  dischargePowerW: nullableNumber,
  /** Why the power is missing, or `limit-reached` where the pulse itself met the voltage limit. */
  dischargeReason: reasonCode,
  chargeDurationS: nullableNumber,
  chargeResistanceOhm: nullableNumber,
  chargeStandardUncertaintyOhm: nullableNumber,
  /** OCV at the depth of discharge after the discharge pulse. */
  chargeOcvV: nullableNumber,
  chargePowerW: nullableNumber,
  chargeReason: reasonCode,
  method: z.string(),
});

/** Pulse-power profile of ISO 12405-4, evaluated at the standard's times against the current of the pulse. */
export const isoEvaluation = z.object({
  pulseIndex: z.int(),
  direction,
  pulseCurrentA: number,
  points: z.array(
    z.object({
      timeS: number,
      voltageV: nullableNumber,
      currentA: nullableNumber,
      valueOhm: nullableNumber,
      powerW: nullableNumber,
      reason: reasonCode,
    }),
  ),
  method: z.string(),
});

export type TwoLevelResistance = z.infer<typeof twoLevelResistance>;
export type IsoEvaluation = z.infer<typeof isoEvaluation>;
export type PulsePower = z.infer<typeof pulsePower>;
