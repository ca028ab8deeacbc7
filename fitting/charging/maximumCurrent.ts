/**
 * Highest charge current for a stretch of time from what is known of a cell at one moment, A.
 * G. L. Plett, J. Power Sources 134 (2004) 252–292.
 */

/** Current at which SOC `soc` reaches `maxSoc` after `durationS`: (z_max − z) 3600 Q / (η Δt). */
export function socLimitedCurrentA(
  soc: number,
  maxSoc: number,
  capacityAh: number,
  durationS: number,
  coulombicEfficiency = 1,
): number {
  return ((maxSoc - soc) * 3600 * capacityAh) / (coulombicEfficiency * durationS);
}

/**
 * Current at which the voltage reaches `maxVoltageV` after `durationS`: (V_max − OCV) / (R + η Δt OCV′ / (3600 Q)), with R the resistance
 * of that duration and OCV′ the slope against SOC (0: the slope is left out).
 */
export function voltageLimitedCurrentA(cell: {
  readonly ocvV: number;
  readonly maxVoltageV: number;
  readonly resistanceOhm: number;
  readonly ocvSlopeV: number;
  readonly capacityAh: number;
  readonly durationS: number;
  readonly coulombicEfficiency?: number;
}): number {
  const rise = ((cell.coulombicEfficiency ?? 1) * cell.durationS * cell.ocvSlopeV) / (3600 * cell.capacityAh);
  return (cell.maxVoltageV - cell.ocvV) / (cell.resistanceOhm + rise);
}

export type CurrentLimitReason =
  | 'rating'
  | 'voltage'
  | 'soc'
  | 'heat'
  | 'zone'
  | 'below-minimum-temperature'
  | 'above-maximum-temperature';

/** What is known of each limit; null where it does not apply. */
export interface CurrentLimits {
  readonly ratingA: number;
  readonly voltageA: number;
  readonly socA: number | null;
  readonly heatA: number | null;
  readonly zoneA: number | null;
  readonly temperatureC: number;
  readonly minTemperatureC: number | null;
  readonly maxTemperatureC: number | null;
}

/**
 * The least of all limits and its name. Outside the temperature window the answer is 0 with the reason: not a small
 * current, none. Never negative: above its voltage limit a cell takes 0.
 */
export function maximumCurrent(limits: CurrentLimits): { currentA: number; reason: CurrentLimitReason } {
  const { temperatureC, minTemperatureC, maxTemperatureC } = limits;
  if (minTemperatureC !== null && temperatureC < minTemperatureC)
    return { currentA: 0, reason: 'below-minimum-temperature' };
  if (maxTemperatureC !== null && temperatureC > maxTemperatureC)
    return { currentA: 0, reason: 'above-maximum-temperature' };
  const candidates: [number | null, CurrentLimitReason][] = [
    [limits.ratingA, 'rating'],
    [limits.voltageA, 'voltage'],
    [limits.socA, 'soc'],
    [limits.heatA, 'heat'],
    [limits.zoneA, 'zone'],
  ];
  let least: { currentA: number; reason: CurrentLimitReason } = {
    currentA: limits.ratingA,
    reason: 'rating',
  };
  for (const [currentA, reason] of candidates)
    if (currentA !== null && currentA < least.currentA) least = { currentA, reason };
  return { currentA: Math.max(least.currentA, 0), reason: least.reason };
}
