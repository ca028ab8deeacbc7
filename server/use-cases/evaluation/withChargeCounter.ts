import type { RecordColumns } from '../../../fitting/records/index.ts';
import { usableChargeCounter } from '../../../fitting/records/index.ts';
import { namesSoc, socOfColumn } from '../../assess/pulse/socColumn.ts';
import { namesChargeCounter } from '../../import/recognise/quantities.ts';
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

/** The state of charge at the first row of a stored record, from a column of its file that states it; else null. */
export async function startSocOfColumn(store: Store, stored: StoredRecord): Promise<number | null> {
  const place = stored.columns.findIndex((column) => column.role === 'extra' && namesSoc(column.name));
  if (place < 0 || stored.rowCount === 0) return null;
  const [first] = await readRecordColumnAt(store, stored, place, 0, 1);
  return socOfColumn(stored.columns[place].name, first);
}
