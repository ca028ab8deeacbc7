import type { ChargeRateEntry, ChargeRates } from '../../contract/chargeRates.ts';

/** Growth of the resistance that the tables have columns for: new, half as much again, twice. */
export const TABLE_GROWTHS: readonly number[] = [0, 0.5, 1];

/** So far above the lower end of the window the usual rate is not given. Common practice, no source. */
const COLD_RANGE_K = 10;

/**
 * Temperatures of a table of rates: beyond both ends of the window, its ends, and between them a few where cells are
 * commonly charged.
 */
export function tableTemperatures(minC: number, maxC: number): number[] {
  const wanted = [minC - 10, minC, minC + COLD_RANGE_K, 25, maxC - 10, maxC - 5, maxC, maxC + 10];
  const inside = (value: number) => value >= minC && value <= maxC;
  const kept = wanted.filter((value, i) => i === 0 || i === wanted.length - 1 || inside(value));
  return [...new Set(kept)].sort((a, b) => a - b);
}

/**
 * Rates by common practice: the usual rate, never above the rating, inside the window; do not charge outside it; nothing
 * where it would be a guess (in the cold, and for grown resistance). Every entry is marked as common practice.
 */
export function commonPracticeRates(
  limits: ChargeRates['limits'],
  ratedCapacityAh: number | null,
): ChargeRateEntry[] {
  const { minTemperatureC, maxTemperatureC, maxRateC } = limits;
  return tableTemperatures(minTemperatureC, maxTemperatureC).flatMap((temperatureC) =>
    TABLE_GROWTHS.map((resistanceGrowth): ChargeRateEntry => {
      const entry = {
        temperatureC,
        resistanceGrowth,
        basis: 'common-practice' as const,
        binding: null,
        extrapolated: false,
      };
      const unknown = (reason: 'cold-needs-datasheet' | 'resistance-growth-needs-fitted-cell') => ({
        ...entry,
        rateC: null,
        currentA: null,
        doNotCharge: false,
        reason,
      });
      if (temperatureC < minTemperatureC || temperatureC > maxTemperatureC)
        return {
          ...entry,
          rateC: 0,
          currentA: 0,
          doNotCharge: true,
          binding: 'outside-temperature-window',
          reason: temperatureC < minTemperatureC ? 'below-minimum-temperature' : 'above-maximum-temperature',
        };
      if (resistanceGrowth > 0) return unknown('resistance-growth-needs-fitted-cell');
      if (temperatureC < minTemperatureC + COLD_RANGE_K) return unknown('cold-needs-datasheet');
      return {
        ...entry,
        rateC: maxRateC,
        currentA: ratedCapacityAh === null ? null : maxRateC * ratedCapacityAh,
        doNotCharge: false,
        binding: limits.maxRateBasis === 'datasheet' ? 'datasheet-rating' : 'usual-rate',
        reason: null,
      };
    }),
  );
}
