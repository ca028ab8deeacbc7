import pino from 'pino';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { createApp } from '../../server/app.ts';
import type { ImportReport } from '../../server/contract/import.ts';
import { conditions } from '../../server/contract/measurements.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readLotChanges } from '../../server/store/lotChanges.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { openFurtherStore, type Store } from '../../server/store/store.ts';
import { changeTest } from '../../server/use-cases/evaluation/changeTest.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { restoreImport } from '../../server/use-cases/imports/restoreImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { judgeLot } from '../../server/use-cases/lots/judgeLot.ts';
import { keptOfLot } from '../../server/use-cases/lots/keptOfLot.ts';
import { readLotColumns } from '../../server/use-cases/lots/readLotColumns.ts';
import { changeCell } from '../../server/use-cases/register/changeCell.ts';
import { changeCellType } from '../../server/use-cases/register/changeCellType.ts';
import { changeLot } from '../../server/use-cases/register/changeLot.ts';
import { changeMeasurement } from '../../server/use-cases/register/changeMeasurement.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { runSql, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { onPostgresql } from '../support/testDatabase.ts';

let test: TestApp;
let further: Store;
/** Two services over one database: what is changed through the first is asked of both. */
let services: TestApp['app'][];
let lotId: number;
let otherTypeId: number;
beforeAll(async () => {
  test = await openTestApp();
  further = await openFurtherStore(test.config.database);
  const { context, config } = test;
  const second = createApp({
    config,
    base: { ...context, store: further },
    log: pino({ level: 'error' }, pino.destination(2)),
    checkAnswers: true,
  });
  services = [test.app, second];
  lotId = (await makeLot(context)).lot.id;
  const other = await makeLot(context, { lot: 'other', cellType: { capacityMinAh: 1.9, referenceSoc: 0.2 } });
  otherTypeId = other.cellType.id;
});
afterAll(async () => {
  await further.close();
  await test.close();
});

async function take(name: string, text: string, asked: object = {}): Promise<ImportReport> {
  const file = { name, open: async () => bufferSource(Buffer.from(text)), rereadable: true };
  const report = await importFile(test.context, file, { lot: 'lot A', ...asked }, 'batch');
  expect(report.refusal).toBeNull();
  return report;
}

/** A table of more rows than are stored at once. */
const table = (from: number, rows: number, quantity: string, value: number) =>
  `serial,${quantity}\n${Array.from({ length: rows }, (_, i) => `C-${from + i},${(value + (i % 13) / 100).toFixed(2)}`).join('\n')}\n`;

/** A rest, and a discharge at 2 A to 2.4 V in a straight line. */
const discharge = `time_s,voltage_V,current_A\n${Array.from({ length: 361 }, (_, i) => `${i * 10},${(4.2 - (1.8 * i) / 360).toFixed(6)},${i < 3 ? 0 : -2}`).join('\n')}\n`;

async function ask(service: TestApp['app']): Promise<{ statistics: unknown; columns: unknown }> {
  const [statistics, columns] = await Promise.all(
    ['statistics', 'columns'].map((what) => request(service).get(`/api/v1/lots/${lotId}/${what}`)),
  );
  expect([statistics.status, columns.status]).toEqual([200, 200]);
  return { statistics: statistics.body, columns: columns.body };
}

/** What is computed now, by nobody who keeps anything. */
const computed = async () =>
  JSON.parse(
    JSON.stringify({
      statistics: await judgeLot(test.context, lotId),
      columns: await readLotColumns(test.context, lotId),
    }),
  );

const cellOf = async (serial: string) =>
  (await selectOne<{ id: number; version: number }>(
    test.context.store,
    'SELECT id, version FROM Cell WHERE serial = ?',
    serial,
  ))!;

/** What one change needs to know of those before it. */
const known: Record<string, number> = {};

const changes: readonly (readonly [what: string, change: () => Promise<unknown>])[] = [
  [
    'an import in one piece',
    async () => {
      known.small = (await take('a.csv', table(1, 20, 'capacity_Ah', 2))).sourceFileId!;
    },
  ],
  [
    'an import that is stored in pieces',
    async () => {
      known.large = (await take('b.csv', table(100, 260, 'capacity_Ah', 1.9))).sourceFileId!;
    },
  ],
  ['another quantity of known cells', () => take('c.csv', table(100, 260, 'resistance_10s_mohm', 20))],
  [
    'a value that is left out',
    async () => {
      const { id } = (await selectOne<{ id: number }>(
        test.context.store,
        `SELECT m.id FROM Measurement m JOIN Cell c ON c.id = m.cellId WHERE c.serial = 'C-3' AND m.quantity = 'capacity'`,
      ))!;
      known.leftOut = id;
      await changeMeasurement(test.context, id, { excludedReason: 'wrong fixture' });
    },
  ],
  [
    'a value that counts again',
    () => changeMeasurement(test.context, known.leftOut, { excludedReason: null }),
  ],
  [
    'a value that holds under a condition alone',
    async () => {
      const { id } = await cellOf('C-4');
      const conditional = { value: 1.5, reason: null, excludedReason: conditions[0] };
      await test.context.store.transaction(async (tx) =>
        insertMeasurements(tx, [newMeasurement(id, conditional)], '2026-02-01T08:00:00.000Z'),
      );
    },
  ],
  ['an import that is undone', () => undoImport(test.context, known.large)],
  ['an import that is taken back again', () => undoImport(test.context, known.small)],
  ['cells that come again', () => take('e.csv', table(1, 12, 'capacity_Ah', 2.1))],
  [
    'an import whose undoing is taken back',
    async () => {
      const masses = await take('f.csv', table(1, 12, 'mass_g', 45));
      await undoImport(test.context, masses.sourceFileId!);
      await ask(services[0]);
      await restoreImport(test.context, masses.sourceFileId!);
    },
  ],
  [
    'an evaluation',
    async () => {
      const report = await take('d.csv', discharge, { cell: 'C-5', testKind: 'capacity' });
      known.test = report.runs[0].testId!;
      await ask(services[1]);
      await evaluateTest(test.context, known.test);
    },
  ],
  [
    'an evaluation at another condition',
    async () => {
      const { version } = (await selectOne<{ version: number }>(
        test.context.store,
        'SELECT version FROM Test WHERE id = ?',
        known.test,
      ))!;
      await changeTest(test.context, known.test, version, { temperatureC: 45 });
      await evaluateTest(test.context, known.test);
    },
  ],
  [
    'a limit of the specification',
    async () => {
      const type = (await selectOne<{ id: number; version: number }>(
        test.context.store,
        'SELECT t.id, t.version FROM CellType t JOIN Lot l ON l.cellTypeId = t.id WHERE l.id = ?',
        lotId,
      ))!;
      await changeCellType(test.context, type.id, type.version, { capacityMinAh: 2 });
    },
  ],
  [
    'another cell type',
    async () => {
      const { version } = (await selectOne<{ version: number }>(
        test.context.store,
        'SELECT version FROM Lot WHERE id = ?',
        lotId,
      ))!;
      await changeLot(test.context, lotId, version, { cellTypeId: otherTypeId });
    },
  ],
  [
    'a value that is stored again in place',
    () => runSql(test.context.store, 'UPDATE Measurement SET standardUncertainty = 0.001'),
  ],
  [
    'a cell of another name',
    () => runSql(test.context.store, `UPDATE Cell SET serial = 'renamed' WHERE serial = 'C-6'`),
  ],
  ['a cell that is removed', () => runSql(test.context.store, `DELETE FROM Cell WHERE serial = 'C-7'`)],
];

describe('statistics and columns of a lot, which services keep', () => {
  it('are those of now at every service after every kind of change, whoever made it', async () => {
    for (const [what, change] of changes) {
      const before = [await ask(services[0]), await ask(services[1])];
      await change();
      const now = await computed();
      expect(now, what).not.toEqual(before[0]);
      expect([await ask(services[1]), await ask(services[0])], what).toEqual([now, now]);
    }
  });

  it('are computed once while nothing of the lot changes, and once for all who ask meanwhile', async () => {
    const { store } = test.context;
    let computations = 0;
    const compute = async () => ++computations;
    const asked = () => keptOfLot(store, lotId, 'how often', compute);
    expect(await Promise.all([asked(), asked(), asked()])).toEqual([1, 1, 1]);
    // A decision, a note and what happens in another lot change no figure of this one.
    const { id, version } = await cellOf('C-8');
    await changeCell(test.context, id, version, { note: 'looked at' });
    await take('other.csv', table(1, 3, 'capacity_Ah', 2), { lot: 'other' });
    expect(await asked()).toBe(1);
    await runSql(store, `DELETE FROM Cell WHERE serial = 'C-9'`);
    expect(await asked()).toBe(2);
  });

  it('are asked again where computing them failed', async () => {
    const { store } = test.context;
    const failing = keptOfLot(store, lotId, 'what fails', async () =>
      Promise.reject(new Error('out of order')),
    );
    await expect(failing).rejects.toThrow('out of order');
    expect(await keptOfLot(store, lotId, 'what fails', async () => 'done')).toBe('done');
  });

  it.runIf(onPostgresql)('keep the number of their changes while its rows are made one', async () => {
    const { store } = test.context;
    for (let i = 0; i < 600; i++)
      await runSql(store, `UPDATE Lot SET note = 'note ${i}' WHERE id = ?`, lotId);
    const rows = async () =>
      (await selectOne<{ n: number }>(store, 'SELECT COUNT(*) AS n FROM LotChange WHERE lotId = ?', lotId))!
        .n;
    expect(await rows()).toBeGreaterThan(600);
    const changesBefore = await readLotChanges(store, lotId);
    expect(await rows()).toBe(1);
    expect(await readLotChanges(further, lotId)).toBe(changesBefore);
    await runSql(store, `UPDATE Lot SET note = 'last' WHERE id = ?`, lotId);
    expect(await readLotChanges(further, lotId)).toBe(changesBefore + 1);
  });
});
