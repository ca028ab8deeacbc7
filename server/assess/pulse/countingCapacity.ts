import type { PulseSettings } from '../../contract/pulseRecord.ts';

/** The capacity that SOC 1 refers to: the cell's own, else the rated one; null where neither is known. */
export function countingCapacityAh(
  settings: Pick<PulseSettings, 'cellCapacityAh' | 'ratedCapacityAh'>,
): number | null {
  return settings.cellCapacityAh ?? settings.ratedCapacityAh;
}
