import { rowsForDisplay } from '../../../fitting/records/index.ts';
import type { Context } from '../../context.ts';
import type { Series } from '../../contract/tests.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import {
  findRecord,
  findRecordRows,
  readRecordColumnAt,
  type StoredColumn,
  type StoredRecord,
} from '../../store/records.ts';
import type { Store } from '../../store/store.ts';
import { findTest } from '../../store/tests.ts';
import { gapBefore, readTogether, testsTogether } from './runsTogether.ts';

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
  const asked = {
    fromS: query.fromS ?? Number.NEGATIVE_INFINITY,
    toS: query.toS ?? Number.POSITIVE_INFINITY,
  };
  const part = (await joinedPart(store, testId, asked)) ?? (await recordPart(store, record, asked));
  return { testId, ...drawn(part, query.points) };
}

/** Rows of a record with its columns, for drawing. */
interface Part {
  readonly columns: readonly StoredColumn[];
  /** By column: its values in the rows. */
  readonly values: readonly Float64Array[];
  /** Rows of the whole record, and the place of the part's first one. */
  readonly rowCount: number;
  readonly firstRow: number;
}

async function recordPart(store: Store, record: StoredRecord, asked: Stretch): Promise<Part> {
  const whole = asked.fromS === Number.NEGATIVE_INFINITY && asked.toS === Number.POSITIVE_INFINITY;
  const { start, end } = whole
    ? { start: 0, end: record.rowCount }
    : await findRecordRows(store, record, asked.fromS, asked.toS);
  const values = await inOrder(record.columns, async (_, place) =>
    readRecordColumnAt(store, record, place, start, end),
  );
  return { columns: record.columns, values, rowCount: record.rowCount, firstRow: start };
}

interface Stretch {
  readonly fromS: number;
  readonly toS: number;
}

/** The record that several runs make together; null for a test that is evaluated alone. */
async function joinedPart(store: Store, testId: number, asked: Stretch): Promise<Part | null> {
  const test = await findTest(store, testId);
  if (test === null || test.evaluatedWithId === null) return null;
  const tests = await testsTogether(store, test);
  const { columns } = await readTogether(store, tests, await gapBefore(store, test));
  const { timeS } = columns;
  const firstRow = Math.max(
    0,
    timeS.findIndex((time) => time >= asked.fromS),
  );
  const after = timeS.findIndex((time) => time > asked.toS);
  const end = after < 0 ? timeS.length : after;
  const named = [
    { role: 'time', name: 'time', unit: 's', values: timeS },
    { role: 'voltage', name: 'voltage', unit: 'V', values: columns.voltageV },
    { role: 'current', name: 'current', unit: 'A', values: columns.currentA },
    ...(columns.temperatureC === undefined
      ? []
      : [{ role: 'temperature', name: 'temperature', unit: '°C', values: columns.temperatureC } as const]),
  ] as const;
  return {
    columns: named.map(({ role, name, unit }) => ({ role, name, unit })),
    values: named.map(({ values }) => values.subarray(firstRow, end)),
    rowCount: timeS.length,
    firstRow,
  };
}

/** The rows that hold the least and greatest value of each drawn column in each pixel. */
function drawn({ columns, values, rowCount, firstRow }: Part, points: number): Omit<Series, 'testId'> {
  const timePlace = columns.findIndex((column) => column.role === 'time');
  const timeS = values[timePlace];
  const shown = new Set<number>();
  const places = [...columns.keys()].filter((place) =>
    ['voltage', 'current', 'temperature'].includes(columns[place].role),
  );
  const perColumn = Math.max(10, Math.floor(points / Math.max(1, places.length)));
  for (const place of places) {
    for (const row of rowsForDisplay(timeS, values[place], perColumn)) shown.add(row);
  }
  const rows = [...shown].sort((a, b) => a - b);
  return {
    exact: rows.length === timeS.length,
    rowCount,
    firstRow,
    lastRow: Math.max(firstRow, firstRow + timeS.length - 1),
    timeS: rows.map((row) => timeS[row]),
    columns: columns.flatMap((column, place) =>
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
