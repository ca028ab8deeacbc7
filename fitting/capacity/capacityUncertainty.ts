import { secondDifferenceNoise } from '../numeric/noise.ts';
import type { RecordColumns } from '../records/record.ts';
import { columnResolution, currentResolution } from '../records/resolution.ts';

/** Rows on either side of the crossing that the slope of the voltage is taken from. */
const SLOPE_ROWS = 4;

/**
 * Standard uncertainty of a discharge's capacity in Ah, as far as the record itself can tell: the instant at which a noisy and
 * quantised voltage crosses the cut-off, u_t = u_V / |dU/dt|, times the current; and a current channel that may be off by its
 * resolution over the whole discharge, u_I · t, with u = step/√12 for a rectangular distribution (JCGM 100:2008, 4.3.7).
 *
 * The accuracy of the instrument (gain and offset within its specification) is not in the record and comes on top; it is the same
 * for all cells of one channel.
 *
 * @param startRow first row of the discharge
 * @param crossingRow first row at or below the cut-off
 * @returns null where the voltage does not fall at the crossing
 */
export function capacityUncertainty(
  record: RecordColumns,
  startRow: number,
  crossingRow: number,
): number | null {
  const { timeS, voltageV, currentA } = record;
  const first = Math.max(startRow, crossingRow - SLOPE_ROWS);
  const fall = voltageV[first] - voltageV[crossingRow];
  const lasted = timeS[crossingRow] - timeS[first];
  if (!(fall > 0 && lasted > 0)) return null;
  const noiseV = secondDifferenceNoise(voltageV, (row) => row > startRow && row < crossingRow);
  const voltageU = Math.max(Number.isFinite(noiseV) ? noiseV : 0, columnResolution(voltageV) / Math.sqrt(12));
  const crossing = ((voltageU * lasted) / fall) * Math.abs(currentA[crossingRow - 1]);
  const counting = (currentResolution(currentA) / Math.sqrt(12)) * (timeS[crossingRow] - timeS[startRow]);
  return Math.hypot(crossing, counting) / 3600;
}
