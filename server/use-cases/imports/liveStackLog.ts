import { z } from 'zod';
import { type Context, inTransaction, nowText } from '../../context.ts';
import { importOptions } from '../../contract/import.ts';
import {
  type LiveLogRows,
  type LiveLogState,
  liveLogOptions,
  type OpenLiveLog,
} from '../../contract/liveStackLogs.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { bufferSource } from '../../import/byteSource.ts';
import { type ChargeLogPlan, planChargeLog } from '../../import/chargeLogColumns.ts';
import { columnValues } from '../../import/chargeLogValues.ts';
import { readTable, type TableFile } from '../../import/readTableFile.ts';
import { RefusedFile } from '../../import/refusedFile.ts';
import { insertAudit } from '../../store/audit.ts';
import {
  appendLiveRows,
  claimLiveStackLog,
  closeLiveStackLog,
  findLiveStackLog,
  hasLiveRows,
  insertLiveStackLog,
  type LiveStackLog,
  listOpenLiveStackLogs,
  readLiveRows,
} from '../../store/liveStackLogs.ts';
import { findStack } from '../../store/stacks.ts';
import { parseStored } from '../../store/storedJson.ts';
import { importFile } from './importFile.ts';

/** Rows are kept as the lines of a file that is written so. */
const WRITTEN = { delimiter: ',', decimal: '.' } as const;
const storedHeader = z.array(z.string());

/**
 * Opens a log of a stack that takes rows as they come.
 *
 * @throws Refusal `not-found`; RefusedFile where the columns are not those of a log of this stack
 */
export async function openLiveLog(
  context: Context,
  stackId: number,
  body: OpenLiveLog,
): Promise<LiveLogState> {
  const { header, ...options } = body;
  const stack = await findStack(context.store, stackId);
  if (stack === null) throw notFound('stack', stackId);
  const { cells } = planOf(await tableOf(header, [header.map((_, c) => c)]), options);
  if (cells !== stack.cells.length)
    throw new Refusal('invalid-request', 'The columns are not those of a log of this stack.', [
      fieldError(
        'header',
        `${cells} cell voltages`,
        `the stack ${stack.name} has ${stack.cells.length} cells`,
        'one voltage for each cell',
      ),
    ]);
  const createdAt = nowText(context);
  const id = await inTransaction(context, async ({ store, actor }) => {
    const made = await insertLiveStackLog(store, {
      stackId,
      columnsJson: JSON.stringify(header),
      optionsJson: JSON.stringify(options),
      createdAt,
      createdBy: actor.name,
    });
    await insertAudit(store, {
      at: createdAt,
      actor: actor.name,
      action: 'stack-log.opened',
      subjectKind: 'stack',
      subjectId: stackId,
      detail: { liveLog: made },
    });
    return made;
  });
  return readLiveLog(context, id);
}

/**
 * The open live logs of a stack, also those whose sender was cut off. Like the open tests of a cell they stay, with every row that was
 * acknowledged, until they go on or are closed: nothing removes them.
 *
 * @throws Refusal `not-found`
 */
export async function listOpenLiveLogs(
  { store }: Context,
  stackId: number,
): Promise<{ items: LiveLogState[] }> {
  if ((await findStack(store, stackId)) === null) throw notFound('stack', stackId);
  const logs = await listOpenLiveStackLogs(store, stackId);
  return { items: logs.map((log) => stateOf(log, false)) };
}

/** How far a live log is. @throws Refusal `not-found` */
export async function readLiveLog(context: Context, id: number, repeated = false): Promise<LiveLogState> {
  return stateOf(await requireLog(context, id), repeated);
}

/**
 * Appends rows. They are on the disk when this returns; the same key again stores nothing and answers as before. Every value is checked as
 * the reader of files checks it, so that a row that can never be taken is refused while the charge runs.
 *
 * @throws Refusal `conflict` where the log is closed or the rows do not begin where it ends; `invalid-request` naming row and column
 */
export async function appendToLiveLog(
  context: Context,
  id: number,
  key: string,
  { firstRow, rows }: LiveLogRows,
): Promise<LiveLogState> {
  const log = await requireLog(context, id);
  const times = await checkRows(log, rows);
  return inTransaction(context, async (tx) => {
    const { store } = tx;
    await claimLiveStackLog(store, id);
    const present = await requireLog(tx, id);
    if (await hasLiveRows(store, id, key)) return stateOf(present, true);
    if (present.closedAt !== null)
      throw new Refusal('conflict', `The live log ${id} is closed and takes no more rows.`);
    if (firstRow !== present.rowCount)
      throw new Refusal('conflict', `The live log ${id} has ${present.rowCount} rows.`, [
        fieldError('firstRow', firstRow, 'is not where the log ends', String(present.rowCount)),
      ]);
    checkClock(times, present.lastTimeS);
    const lastTimeS = times[times.length - 1];
    await appendLiveRows(store, id, { firstRow, key, lines: rows.map((row) => row.join(',')), lastTimeS });
    return stateOf(await requireLog(tx, id), false);
  });
}

/**
 * Closes a live log: its rows become a stack log through the reader of files, with all of its checks. What is refused stays open with
 * every row, so that it goes on or can be read with other options.
 *
 * @throws Refusal `not-found`, `conflict` where rows came meanwhile, `file-refused` with row and column
 */
export async function closeLiveLog(context: Context, id: number): Promise<LiveLogState> {
  const log = await requireLog(context, id);
  if (log.closedAt !== null) return stateOf(log, true);
  const stack = await findStack(context.store, log.stackId);
  if (stack === null) throw notFound('stack', log.stackId);
  const lines = await readLiveRows(context.store, id);
  const text = [lineOf(headerOf(log)), ...lines].join('\n');
  const report = await importFile(
    context,
    {
      name: `live-log-${id}.csv`,
      open: async () => bufferSource(Buffer.from(`${text}\n`)),
      rereadable: true,
    },
    importOptions.parse({ ...optionsOf(log), ...WRITTEN, kind: 'stack-log', stack: stack.name }),
    `live log ${id}`,
    () => {},
    async (tx, { stackLogId }) => {
      if (stackLogId === null) return;
      const closedAt = nowText(context);
      if (await closeLiveStackLog(tx, id, { rowCount: log.rowCount, stackLogId, closedAt })) return;
      throw new Refusal('conflict', `Rows came to the live log ${id} while it was closed; close it again.`);
    },
  );
  const after = await requireLog(context, id);
  if (after.closedAt !== null) return stateOf(after, false);
  const { refusal } = report;
  throw new Refusal(
    'file-refused',
    `The live log ${id} cannot be closed: ${refusal?.reason ?? 'it was refused'}.`,
    [
      {
        field: refusal?.column ?? null,
        row: refusal?.row ?? null,
        value: refusal?.value ?? null,
        reason: refusal?.reason ?? 'was refused',
        expected: refusal?.expected ?? null,
      },
    ],
  );
}

async function requireLog({ store }: Pick<Context, 'store'>, id: number): Promise<LiveStackLog> {
  const log = await findLiveStackLog(store, id);
  if (log === null) throw notFound('live log', id);
  return log;
}

function stateOf(
  { closedAt, columnsJson: _c, optionsJson: _o, ...log }: LiveStackLog,
  repeated: boolean,
): LiveLogState {
  return { ...log, state: closedAt === null ? 'open' : 'closed', repeated };
}

const headerOf = ({ id, columnsJson }: LiveStackLog): string[] =>
  parseStored(storedHeader, columnsJson, `header of live log ${id}`);
const optionsOf = ({ id, optionsJson }: LiveStackLog) =>
  parseStored(liveLogOptions, optionsJson, `options of live log ${id}`);

/** A line of a file; names that hold a comma or a quote are quoted. */
const lineOf = (names: readonly string[]): string =>
  names.map((name) => `"${name.replaceAll('"', '""')}"`).join(',');

function tableOf(header: readonly string[], rows: readonly (readonly number[])[]): Promise<TableFile> {
  const text = [lineOf(header), ...rows.map((row) => row.join(','))].join('\n');
  return readTable(bufferSource(Buffer.from(`${text}\n`)), WRITTEN);
}

const planOf = (
  table: TableFile,
  { columns, units }: Pick<OpenLiveLog, 'columns' | 'units'>,
): ChargeLogPlan => planChargeLog(table, columns, units);

/** Times of rows whose every value the reader of files would take, s. @throws Refusal `invalid-request` */
async function checkRows(log: LiveStackLog, rows: LiveLogRows['rows']): Promise<Float64Array> {
  const header = headerOf(log);
  const short = rows.findIndex((row) => row.length !== header.length);
  if (short >= 0)
    throw new Refusal('invalid-request', 'A row has another number of values than the log has columns.', [
      fieldError(`rows.${short}`, rows[short].length, 'is not the number of columns', String(header.length)),
    ]);
  const table = await tableOf(header, rows);
  const plan = planOf(table, optionsOf(log));
  let times = new Float64Array(0);
  try {
    for (const column of plan.columns.values()) {
      const { values } = columnValues(table, column);
      if (column.role === 'time') times = Float64Array.from(values);
    }
  } catch (error) {
    if (!(error instanceof RefusedFile)) throw error;
    const { row, column, value, reason, expected } = error.refusal;
    // The first row of the batch is line 2 of the table that was made of it.
    throw new Refusal('invalid-request', `A row cannot be taken: ${reason}.`, [
      {
        field: `rows.${(row ?? 2) - 2}`,
        row: row === null ? null : row - 1,
        value,
        reason: `${column}: ${reason}`,
        expected,
      },
    ]);
  }
  return times;
}

function checkClock(times: Float64Array, lastS: number | null): void {
  let before = lastS ?? Number.NEGATIVE_INFINITY;
  times.forEach((time, row) => {
    if (!(time > before))
      throw new Refusal('invalid-request', 'The clock does not go forward.', [
        fieldError(`rows.${row}`, time, `is not after ${before} s`, 'a time that rises from row to row'),
      ]);
    before = time;
  });
}
