import { DrawnRows } from '../../../fitting/records/index.ts';
import type { Context } from '../../context.ts';
import type { Series } from '../../contract/tests.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
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
  return { testId, ...(await drawn(part, query.points)) };
}

/** Rows of a record, for drawing. */
interface Part {
  readonly columns: readonly StoredColumn[];
  /** Rows of the whole record, and those of the part: the first one, and the one after its last. */
  readonly rowCount: number;
  readonly firstRow: number;
  readonly end: number;
  /** Values of the column at a place, in rows of the whole record. */
  readonly read: (place: number, start: number, end: number) => Promise<Float64Array>;
}

async function recordPart(store: Store, record: StoredRecord, asked: Stretch): Promise<Part> {
  const whole = asked.fromS === Number.NEGATIVE_INFINITY && asked.toS === Number.POSITIVE_INFINITY;
  const { start, end } = whole
    ? { start: 0, end: record.rowCount }
    : await findRecordRows(store, record, asked.fromS, asked.toS);
  return {
    columns: record.columns,
    rowCount: record.rowCount,
    firstRow: start,
    end,
    read: (place, from, to) => readRecordColumnAt(store, record, place, from, to),
  };
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
    rowCount: timeS.length,
    firstRow,
    end,
    read: async (place, from, to) => named[place].values.subarray(from, to),
  };
}

/** Rows that are held at a time: a year of rows every second would be a gigabyte. */
const BLOCK_ROWS = 1 << 20;

/** The rows that hold the least and greatest value of each drawn column in each pixel. */
async function drawn(part: Part, points: number): Promise<Omit<Series, 'testId'>> {
  const { columns, rowCount, firstRow, end } = part;
  const timePlace = columns.findIndex((column) => column.role === 'time');
  const blocks = blocksOf(part);
  const rows = await rowsToDraw(part, blocks, timePlace, points);
  const picked: number[][] = columns.map(() => []);
  let next = 0;
  for (const block of blocks) {
    const from = next;
    while (next < rows.length && rows[next] < block.end) next++;
    if (next === from) continue;
    for (const [place, values] of picked.entries()) {
      const read = await block.read(place);
      for (let i = from; i < next; i++) values.push(read[rows[i] - block.start]);
    }
  }
  return {
    exact: rows.length === end - firstRow,
    rowCount,
    firstRow,
    lastRow: Math.max(firstRow, end - 1),
    timeS: picked[timePlace],
    columns: columns.flatMap(({ name, unit }, place) =>
      place === timePlace
        ? []
        : [
            {
              name,
              unit,
              values: picked[place].map((value) => (Number.isFinite(value) ? value : null)),
            },
          ],
    ),
  };
}

interface Block {
  readonly start: number;
  readonly end: number;
  readonly read: (place: number) => Promise<Float64Array>;
}

/** A part that fits in one block is read once; the blocks of a longer one are read again when their rows are picked. */
function blocksOf({ firstRow, end, read }: Part): Block[] {
  const count = Math.ceil((end - firstRow) / BLOCK_ROWS);
  const kept = new Map<number, Float64Array>();
  return Array.from({ length: count }, (_, b) => {
    const start = firstRow + b * BLOCK_ROWS;
    const after = Math.min(end, start + BLOCK_ROWS);
    return {
      start,
      end: after,
      read: async (place) => {
        const values = kept.get(place) ?? (await read(place, start, after));
        if (count === 1) kept.set(place, values);
        return values;
      },
    };
  });
}

async function rowsToDraw(
  { columns, firstRow, end, read }: Part,
  blocks: readonly Block[],
  timePlace: number,
  points: number,
): Promise<number[]> {
  if (firstRow >= end) return [];
  const places = [...columns.keys()].filter((place) =>
    ['voltage', 'current', 'temperature'].includes(columns[place].role),
  );
  const perColumn = Math.max(10, Math.floor(points / Math.max(1, places.length)));
  const [[fromS], [toS]] = [
    await read(timePlace, firstRow, firstRow + 1),
    await read(timePlace, end - 1, end),
  ];
  const found = places.map(() => new DrawnRows(perColumn, { count: end - firstRow, fromS, toS }));
  for (const block of blocks) {
    const timeS = await block.read(timePlace);
    for (const [i, place] of places.entries()) found[i].add(timeS, await block.read(place), block.start);
  }
  return [...new Set(found.flatMap((one) => [...one.rows()]))].sort((a, b) => a - b);
}
