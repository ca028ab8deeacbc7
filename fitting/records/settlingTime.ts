import { medianOf } from '../numeric/index.ts';
import type { Pulse } from './pulses.ts';
import type { RecordColumns } from './record.ts';

/**
 * How long the current takes to settle after the beginning of a pulse, in s: the median over the pulses of
 * the time to the first reading within `toleranceA` of the settled current, 0 where half of them have settled
 * by their first reading.
 */
export function settlingTime(record: RecordColumns, pulses: readonly Pulse[], toleranceA: number): number {
  const times: number[] = [];
  for (const pulse of pulses) {
    if (pulse.end - pulse.start < 6) continue;
    let row = pulse.start;
    while (row < pulse.end && Math.abs(record.currentA[row] - pulse.currentA) > toleranceA) row++;
    times.push(row === pulse.start ? 0 : record.timeS[Math.min(row, pulse.end - 1)] - pulse.startTimeS);
  }
  return times.length === 0 ? 0 : medianOf(times);
}
