import type { RecordColumns } from './record.ts';

/** A record with only some of its rows, and which row of the whole record each of them was. */
export interface KeptRows {
  readonly record: RecordColumns;
  readonly rowOf: (row: number) => number;
}

/**
 * A record with only the rows given, in their order.
 *
 * @param kept rows of the record, ascending
 */
export function keepRows(record: RecordColumns, kept: readonly number[]): KeptRows {
  if (kept.length === record.timeS.length) return { record, rowOf: (row) => row };
  const only = (values: Float64Array): Float64Array => Float64Array.from(kept, (row) => values[row]);
  const { temperatureC, step, chargeAh } = record;
  return {
    record: {
      timeS: only(record.timeS),
      voltageV: only(record.voltageV),
      currentA: only(record.currentA),
      ...(temperatureC && { temperatureC: only(temperatureC) }),
      ...(step && { step: only(step) }),
      ...(chargeAh && { chargeAh: only(chargeAh) }),
    },
    rowOf: (row) => kept[row],
  };
}
