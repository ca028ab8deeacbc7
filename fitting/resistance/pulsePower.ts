/** Why a pulse power is missing. */
export type PowerReason = 'limit-not-given' | 'ocv-unknown' | 'no-resistance' | 'ocv-beyond-limit';

export interface PulsePowerResult {
  readonly powerW: number | null;
  /** Voltage at which the power is reached. */
  readonly atVoltageV: number | null;
  readonly reason: PowerReason | null;
}

const missing = (reason: PowerReason): PulsePowerResult => ({ powerW: null, atVoltageV: null, reason });

/**
 * Discharge pulse power P = V (OCV − V)/R at V = V_min (INL/EXT-15-34184 and DOE/ID-11069). Where V_min lies
 * below OCV/2 the power is taken at OCV/2, beyond which it would fall again; where OCV/2 lies below V_min
 * that maximum is out of reach and is not given.
 */
export function dischargePower(
  ocvV: number | null,
  resistanceOhm: number | null,
  minVoltageV: number | null,
): PulsePowerResult {
  if (minVoltageV === null) return missing('limit-not-given');
  if (ocvV === null) return missing('ocv-unknown');
  if (resistanceOhm === null || !(resistanceOhm > 0)) return missing('no-resistance');
  if (ocvV <= minVoltageV) return missing('ocv-beyond-limit');
  const atVoltageV = Math.max(minVoltageV, ocvV / 2);
  return { powerW: (atVoltageV * (ocvV - atVoltageV)) / resistanceOhm, atVoltageV, reason: null };
}

/** Charge pulse power P = V_max (V_max − OCV)/R, OCV at the depth of discharge after the discharge pulse. */
export function chargePower(
  ocvV: number | null,
  resistanceOhm: number | null,
  maxVoltageV: number | null,
): PulsePowerResult {
  if (maxVoltageV === null) return missing('limit-not-given');
  if (ocvV === null) return missing('ocv-unknown');
  if (resistanceOhm === null || !(resistanceOhm > 0)) return missing('no-resistance');
  if (ocvV >= maxVoltageV) return missing('ocv-beyond-limit');
  return {
    powerW: (maxVoltageV * (maxVoltageV - ocvV)) / resistanceOhm,
    atVoltageV: maxVoltageV,
    reason: null,
  };
}

/**
 * |ΔV|/|ΔI| between the last reading before a pulse and its end, as the same manuals define the pulse
 * resistances.
 *
 * @throws RangeError where the current does not change
 */
export function pulseEndResistance(
  before: { readonly voltageV: number; readonly currentA: number },
  end: { readonly voltageV: number; readonly currentA: number },
): number {
  if (end.currentA === before.currentA)
    throw new RangeError('The current is the same before and at the end of the pulse');
  return Math.abs(end.voltageV - before.voltageV) / Math.abs(end.currentA - before.currentA);
}
