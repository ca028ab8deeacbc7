import { implausibleReasons, type PlausibleType } from '../../assess/lots/implausible.ts';
import { listLotValues } from '../../store/measurements.ts';
import { findPlausibleLimits } from '../../store/plausibleLimits.ts';
import type { Store } from '../../store/store.ts';
import { findVoltageLimits } from '../../store/voltageLimits.ts';
import type { TakenMeasurement } from './takenFile.ts';

/**
 * Marks the values of a file that cannot be, by the limits of the lot's cell type and by what is usual in the lot. A marked
 * value is stored with its reason and counts nowhere until a person lifts the mark.
 *
 * @returns the measurements, and a sentence about those that were marked
 */
export async function markImplausible(
  store: Store,
  lotId: number | null,
  measurements: readonly TakenMeasurement[],
): Promise<{ measurements: TakenMeasurement[]; warnings: string[] }> {
  const type: PlausibleType | null =
    lotId === null
      ? null
      : { ...(await findVoltageLimits(store, lotId)), ...(await findPlausibleLimits(store, lotId)) };
  const reasons = implausibleReasons(
    measurements,
    type,
    lotId === null ? [] : await listLotValues(store, lotId),
  );
  const marked = measurements.map((measurement, i) =>
    measurement.excludedReason !== null || reasons[i] === null
      ? measurement
      : { ...measurement, excludedReason: reasons[i] },
  );
  const rows = marked.filter(({ excludedReason }) => excludedReason !== null);
  const named = rows
    .slice(0, 5)
    .map(
      ({ serial, quantity, sourceRow, excludedReason }) =>
        `${quantity} of ${serial}${sourceRow === null ? '' : ` in row ${sourceRow}`} (${excludedReason})`,
    );
  return {
    measurements: marked,
    warnings:
      rows.length === 0
        ? []
        : [
            `${rows.length} ${rows.length === 1 ? 'value cannot be and does' : 'values cannot be and do'} not count until ` +
              `you say so: ${named.join('; ')}${rows.length > named.length ? '; …' : ''}`,
          ],
  };
}
