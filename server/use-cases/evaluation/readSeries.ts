import { rowsForDisplay } from '../../../fitting/records/resample.ts';
import type { Context } from '../../context.ts';
import type { Series } from '../../contract/tests.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { findRecord, findRecordRows, readRecordColumnAt } from '../../store/records.ts';

/**
 * A stretch of a record for drawing: every sample where there are few, else the rows that hold the least and greatest
 * value of each column in each pixel, so that no peak is lost.
 */
export async function readSeries(
  context: Context,
  testId: number,
  query: { fromS?: number; toS?: number; points: number },
): Promise<Series> {
  const { store } = context;
  const record = await findRecord(store, testId);
  if (!record) throw notFound('record of test', testId);
  if (query.fromS !== undefined && query.toS !== undefined && query.fromS >= query.toS) {
    throw new Refusal('invalid-request', 'The stretch ends before it begins.', [
      fieldError('toS', query.toS, 'not after fromS', `a time after ${query.fromS} s`),
    ]);
  }
  const range =
    query.fromS === undefined && query.toS === undefined
      ? { start: 0, end: record.rowCount }
      : await findRecordRows(
          store,
          record,
          query.fromS ?? Number.NEGATIVE_INFINITY,
          query.toS ?? Number.POSITIVE_INFINITY,
        );
  const values = await inOrder(record.columns, async (_, place) =>
    readRecordColumnAt(store, record, place, range.start, range.end),
  );
  const timePlace = record.columns.findIndex((column) => column.role === 'time');
  const timeS = values[timePlace];
  const shown = new Set<number>();
  const drawn = record.columns
    .map((column, place) => ({ column, place }))
    .filter(({ column }) => ['voltage', 'current', 'temperature'].includes(column.role));
  const perColumn = Math.max(10, Math.floor(query.points / Math.max(1, drawn.length)));
  for (const { place } of drawn) {
    for (const row of rowsForDisplay(timeS, values[place], perColumn)) shown.add(row);
  }
  const rows = [...shown].sort((a, b) => a - b);
  return {
    testId,
    exact: rows.length === timeS.length,
    rowCount: record.rowCount,
    firstRow: range.start,
    lastRow: Math.max(range.start, range.end - 1),
    timeS: rows.map((row) => timeS[row]),
    columns: record.columns.flatMap((column, place) =>
      place === timePlace
        ? []
        : [
            {
              name: column.name,
              unit: column.unit,
              values: rows.map((row) => (Number.isFinite(values[place][row]) ? values[place][row] : null)),
            },
          ],
    ),
  };
}
