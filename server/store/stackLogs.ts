import { z } from 'zod';
import type { Page } from '../contract/common.ts';
import { type StackLog, type StackLogColumn, stackLogColumn } from '../contract/stackLogs.ts';
import { readColumn } from './chunks/recordReader.ts';
import { matchingIds, readPage } from './page.ts';
import type { StagedRecord } from './stagedRecords.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** What is stored of a stack log beside its record. */
export interface NewStackLog {
  readonly stackId: number;
  readonly cellIds: readonly number[];
  readonly label: string;
  readonly startedAt: string | null;
  readonly cycle: number | null;
  readonly efc: number | null;
  readonly ambientTemperatureC: number;
  readonly columns: readonly StackLogColumn[];
  readonly warnings: readonly string[];
  readonly firstRow: number;
  readonly lastRow: number;
  readonly record: StagedRecord;
}

interface LogRow extends Omit<StackLog, 'columns' | 'cells' | 'warnings'> {
  readonly columnsJson: string;
  readonly warningsJson: string;
}

function logs(store: Store) {
  return store.db
    .selectFrom('StackLog as g')
    .innerJoin('Stack as s', 's.id', 'g.stackId')
    .innerJoin('SourceFile as f', 'f.id', 'g.sourceFileId')
    .innerJoin('Record as r', 'r.stackLogId', 'g.id')
    .select([
      'g.id',
      'g.stackId',
      's.name as stackName',
      'g.label',
      'g.state',
      'g.startedAt',
      'g.cycle',
      'g.efc',
    ])
    .select(['r.rowCount', 'r.durationS', 'g.ambientTemperatureC', 'g.columnsJson', 'g.warningsJson'])
    .select(['g.sourceFileId', 'f.name as fileName', 'g.sourceRowFirst', 'g.sourceRowLast', 'g.createdAt']);
}

async function present(store: Store, { columnsJson, warningsJson, ...row }: LogRow): Promise<StackLog> {
  const cells = await store.db
    .selectFrom('StackLogCell as k')
    .innerJoin('Cell as c', 'c.id', 'k.cellId')
    .select(['k.cellId', 'c.serial'])
    .where('k.stackLogId', '=', row.id)
    .orderBy('k.position')
    .execute();
  const what = `stack log ${row.id}`;
  return {
    ...row,
    columns: parseStored(stackLogColumn.array(), columnsJson, `columns of ${what}`),
    warnings: parseStored(z.string().array(), warningsJson, `warnings of ${what}`),
    cells,
  };
}

export async function findStackLog(store: Store, id: number): Promise<StackLog | null> {
  const row = await logs(store).where('g.id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(store, row);
}

/** A page of stack logs, newest first; those of imports that were taken back are not among them. */
export async function pageStackLogs(
  store: Store,
  query: { cursor?: string; limit: number; stackId?: number },
): Promise<Page<StackLog>> {
  const { stackId, cursor, limit } = query;
  return readPage<LogRow, StackLog>(store, {
    matching: matchingIds(store.db.selectFrom('StackLog').select('id').where('state', '=', 'sealed'), {
      stackId,
    }),
    rows: (ids) => logs(store).where('g.id', 'in', ids).execute(),
    present: (row) => present(store, row),
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}

/** Stores a log with its cells and seals its record; to be called inside the transaction that takes the file. */
export async function insertStackLog(
  store: Store,
  log: NewStackLog,
  sourceFileId: number,
  createdAt: string,
): Promise<number> {
  const { id } = await store.db
    .insertInto('StackLog')
    .values({
      stackId: log.stackId,
      label: log.label,
      startedAt: log.startedAt,
      cycle: log.cycle,
      efc: log.efc,
      ambientTemperatureC: log.ambientTemperatureC,
      columnsJson: JSON.stringify(log.columns),
      warningsJson: JSON.stringify(log.warnings),
      sourceFileId,
      sourceRowFirst: log.firstRow,
      sourceRowLast: log.lastRow,
      createdAt,
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  await store.db
    .insertInto('StackLogCell')
    .values(log.cellIds.map((cellId, i) => ({ stackLogId: id, position: i + 1, cellId })))
    .execute();
  return id;
}

/** The values of a log by role, bit for bit as they were read. */
export async function readStackLogValues(
  store: Store,
  log: Pick<StackLog, 'id' | 'columns' | 'rowCount'>,
): Promise<ReadonlyMap<string, Float64Array>> {
  const { id } = await store.db
    .selectFrom('Record')
    .select('id')
    .where('stackLogId', '=', log.id)
    .executeTakeFirstOrThrow();
  const values = new Map<string, Float64Array>();
  for (const [place, { role }] of log.columns.entries())
    values.set(role, await readColumn(store, id, place, { start: 0, end: log.rowCount }));
  return values;
}

/** How many logs a stack has, with those of imports that were taken back: each keeps the stack from being removed. */
export async function countStackLogs(store: Store, stackId: number): Promise<number> {
  const { n } = await store.db
    .selectFrom('StackLog')
    .select(({ fn }) => fn.countAll<number>().as('n'))
    .where('stackId', '=', stackId)
    .executeTakeFirstOrThrow();
  return Number(n);
}
