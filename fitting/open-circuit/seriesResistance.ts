import { medianOf } from '../numeric/index.ts';
import type { RecordColumns, Step } from '../records/index.ts';

export interface SeriesResistance {
  /** Median of the jumps at the edges between rest and load; null where there are none. */
  readonly ohm: number | null;
  readonly edges: number;
  /**
   * True where the jump is out of proportion to the capacity: leads or contacts are in the voltage reading.
   */
  readonly suspect: boolean;
}

/**
 * Resistance times capacity above which a jump is not the cell's. Lithium cells have some hundredths to
 * tenths of Ω·Ah (common practice).
 */
const SUSPECT_OHM_AH = 1;

/**
 * Resistance read off the jumps of the voltage where a rest meets a current: of a four-wire record it is the
 * cell's, of a two-wire record the leads' as well.
 *
 * @param capacityAh of the cell, to judge the size
 */
export function seriesResistance(
  record: RecordColumns,
  steps: readonly Step[],
  capacityAh: number | null,
): SeriesResistance {
  const jumps: number[] = [];
  for (let s = 1; s < steps.length; s++) {
    const [before, after] = [steps[s - 1], steps[s]];
    if (after.gapBeforeS > 0 || after.clockRestarted) continue;
    if ((before.kind === 'rest') === (after.kind === 'rest')) continue;
    const change = record.currentA[after.start] - record.currentA[after.start - 1];
    const jump = record.voltageV[after.start] - record.voltageV[after.start - 1];
    if (change !== 0) jumps.push(jump / change);
  }
  if (jumps.length === 0) return { ohm: null, edges: 0, suspect: false };
  const edges = jumps.length;
  const ohm = medianOf(jumps);
  return { ohm, edges, suspect: capacityAh !== null && ohm * capacityAh > SUSPECT_OHM_AH };
}
