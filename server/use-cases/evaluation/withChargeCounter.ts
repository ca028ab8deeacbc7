import { usableChargeCounter } from '../../../fitting/records/chargeCounter.ts';
import type { RecordColumns } from '../../../fitting/records/record.ts';
import { namesChargeCounter } from '../../assess/pulse/chargeCounterName.ts';
import { readRecordColumnAt, type StoredRecord } from '../../store/records.ts';
import type { Store } from '../../store/store.ts';

/**
 * A stored record with its instrument's charge counter, where it has one that fits the current: it bridges
 * gaps.
 */
export async function withChargeCounter(
  store: Store,
  stored: StoredRecord,
  record: RecordColumns,
): Promise<RecordColumns> {
  const place = stored.columns.findIndex(
    (column) => column.role === 'extra' && namesChargeCounter(column.name),
  );
  if (place < 0) return record;
  const counter = await readRecordColumnAt(store, stored, place, 0, stored.rowCount);
  const chargeAh = usableChargeCounter(record, counter);
  return chargeAh === null ? record : { ...record, chargeAh };
}
