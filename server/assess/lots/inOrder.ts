import { individualsChart } from '../../../fitting/statistics/index.ts';
import type { ColumnStatistics } from '../../contract/lots.ts';
import type { LotValue } from './lotValue.ts';

/** With fewer values the mean moving range is too uncertain to draw limits by; common practice. */
const LEAST_VALUES = 8;

/**
 * The values in the order in which they were measured with the limits of an individuals chart: what leaves them, or a
 * slope along them, is more often the set-up (contacts, temperature) than the cells.
 */
export function inOrderOf(rows: readonly LotValue[]): ColumnStatistics['inOrder'] {
  const points = rows
    .flatMap(({ cellId, serial, value, measuredAt }) =>
      measuredAt === null ? [] : [{ cellId, serial, measuredAt, value }],
    )
    .sort((a, b) => Date.parse(a.measuredAt) - Date.parse(b.measuredAt) || a.cellId - b.cellId);
  const without = { points: [], centre: null, lower: null, upper: null, outside: [] };
  if (points.length === 0 && rows.length > 0) return { ...without, reason: 'no-times' };
  if (points.length < LEAST_VALUES) return { ...without, reason: 'too-few-values' };
  const first = Date.parse(points[0].measuredAt);
  if (points.every((point) => Date.parse(point.measuredAt) === first))
    return { ...without, reason: 'one-time' };
  const { centre, lower, upper, outside } = individualsChart(points.map((point) => point.value));
  return { points, centre, lower, upper, outside: outside.map((i) => points[i].cellId), reason: null };
}
