import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import { MEASURED_REACH_K } from './ruledRates.ts';

/**
 * The temperatures a cell goes through where its parameters are those of one other temperature and no law carries them
 * on; null where they were measured there, or state no temperature.
 *
 * @param peakC the highest temperature of the cell in the charge
 */
export function oneTemperatureRange(
  { cells, stack }: ChargeStudyDescription,
  k: number,
  peakC: number,
): { measuredC: number; fromC: number; toC: number } | null {
  const { temperatureC, arrhenius, startTemperatureC } = cells[k];
  if (temperatureC?.length !== 1 || arrhenius !== undefined) return null;
  const [measuredC] = temperatureC;
  const start = startTemperatureC ?? stack.ambientTemperatureC;
  const fromC = Math.min(start, stack.ambientTemperatureC);
  const toC = Math.max(start, peakC);
  const outside = fromC < measuredC - MEASURED_REACH_K || toC > measuredC + MEASURED_REACH_K;
  return outside ? { measuredC, fromC, toC } : null;
}
