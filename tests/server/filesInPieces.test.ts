import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';
import request from 'supertest';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { projectRoot } from '../../server/projectRoot.ts';
import { findCellIds } from '../../server/store/cells.ts';
import { hasIncoming, sweepIncomingFiles } from '../../server/store/incomingFiles.ts';
import { insertMeasurements, setExcludedReason } from '../../server/store/measurements.ts';
import type { Store } from '../../server/store/store.ts';
import { insertTest } from '../../server/store/tests.ts';
import { type ImportProgress, importFile } from '../../server/use-cases/imports/importFile.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { newMeasurement } from '../support/measurement.ts';
import { programArguments } from '../support/program.ts';
import { runSql, selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { onPostgresql } from '../support/testDatabase.ts';
import { makeLot } from './importLot.ts';

// On an SQLite file a table of many rows is stored in pieces; on PostgreSQL in one transaction, which keeps nobody waiting.

let test: TestApp;
let lotId: number;
beforeEach(async () => {
  test = await openTestApp();
  lotId = await makeLot(test.context.store, 'L');
});
afterEach(async () => test.close());

/** A table of cells named from `first` on; every tenth capacity cannot be, every seventh cell stands in two rows. */
function table(first: number, cells: number): string {
  const rows = Array.from({ length: cells }, (_, i) => {
    const line = (capacity: number) => `C-${first + i},${capacity},${(20 + (i % 89) / 100).toFixed(2)}`;
    const once = line(i % 10 === 9 ? 22 : 2 + (i % 97) / 1000);
    return i % 7 === 0 ? `${once}\n${line(1.9)}` : once;
  });
  return `serial,capacity_Ah,resistance_10s_mohm\n${rows.join('\n')}\n`;
}

/** A table of other quantities. */
function otherTable(first: number, cells: number): string {
  const rows = Array.from({ length: cells }, (_, i) => `C-${first + i},${15 + (i % 7) / 10},3.6${i % 10}`);
  return `serial,resistance_1s_mohm,ocv_V\n${rows.join('\n')}\n`;
}

/** Running capacities of eight cycles of each cell. */
function cycleTable(first: number, cells: number): string {
  const rows = Array.from(
    { length: 8 * cells },
    (_, i) => `C-${first + Math.floor(i / 8)},${(i % 8) + 1},${1.9 - (i % 8) / 100}`,
  );
  return `serial,cycle,capacity_Ah\n${rows.join('\n')}\n`;
}

/** Gives a cell a capacity of a test at cycle 5, beside which a running one counts as a reading, and leaves one of another out. */
async function changeSome(store: Store): Promise<void> {
  await store.transaction(async (tx) => {
    const ids = await findCellIds(tx, lotId, ['C-110', 'C-300']);
    const cellId = ids.get('C-110')!;
    const run = {
      cellId,
      kind: 'capacity',
      label: '',
      startedAt: null,
      temperatureC: null,
      cycle: 5,
    } as const;
    const [{ sourceFileId }] = await selectAll<{ sourceFileId: number }>(
      tx,
      'SELECT min(id) AS sourceFileId FROM SourceFile',
    );
    const testId = await insertTest(tx, { ...run, sourceFileId, firstRow: 1, lastRow: 1, createdAt: at });
    await insertMeasurements(tx, [newMeasurement(cellId, { value: 1.7, cycle: 5, testId })], at);
    const [{ id }] = await selectAll<{ id: number }>(
      tx,
      `SELECT max(id) AS id FROM Measurement WHERE quantity = 'capacity' AND cycle IS NULL AND cellId = ${ids.get('C-300')}`,
    );
    await setExcludedReason(tx, id, 'zero');
  });
}

const at = '2026-02-01T08:00:00.000Z';
let number = 0;
function take(text: string, onProgress: ImportProgress = () => {}, context = test.context) {
  const file = {
    name: `table-${++number}.csv`,
    open: async () => bufferSource(Buffer.from(text)),
    rereadable: true,
  };
  return importFile(context, file, { lot: 'L' }, `batch-${number}`, onProgress);
}

/** What a person can see of the lot, an answer each. */
async function seen(): Promise<string[]> {
  const paths = [
    `/lots/${lotId}`,
    `/lots/${lotId}/columns`,
    `/lots/${lotId}/statistics`,
    `/lots/${lotId}/cells?limit=5&columns=capacity&sort=capacity`,
    '/cells?limit=3',
    '/cells?limit=3&lacking=true',
    '/imports',
    '/overview',
  ];
  const answers: string[] = [];
  for (const path of paths) {
    const { status, body } = await request(test.app).get(`/api/v1${path}`);
    expect(status, path).toBe(200);
    answers.push(JSON.stringify(body));
  }
  return answers;
}

/** Everything that is stored of cells and their values, without identifiers. */
function stored(store: Store) {
  return Promise.all([
    selectAll(store, 'SELECT serial, note, canBePaired, testCount FROM Cell ORDER BY serial'),
    selectAll(
      store,
      `SELECT c.serial, m.quantity, m.value, m.unit, m.soc, m.excludedReason, m.sourceRow, m.method, f.state
       FROM Measurement m JOIN Cell c ON c.id = m.cellId JOIN SourceFile f ON f.id = m.sourceFileId ORDER BY m.id`,
    ),
    selectAll(
      store,
      `SELECT c.serial, k.quantity, k.durationS, k.temperatureC, v.value, v.rate, v.readings, m.sourceRow
       FROM PresentValue v JOIN LotColumn k ON k.id = v.columnId JOIN Cell c ON c.id = v.cellId
       JOIN Measurement m ON m.id = v.measurementId ORDER BY c.serial, k.quantity, k.durationS, v.rate`,
    ),
  ]);
}

/** What is in the tables themselves, shown or not. */
async function inTables(store: Store): Promise<unknown[]> {
  const counts = (tx: Store) =>
    selectAll(
      tx,
      `SELECT (SELECT count(*) FROM Cell) AS cells, (SELECT count(*) FROM Measurement) AS measurements,
       (SELECT count(*) FROM PresentValue) AS presentValues, (SELECT count(*) FROM IncomingFile) AS incoming`,
    );
  return store.beneath === null ? counts(store) : store.beneath(counts);
}

/** How many values of a file that is being stored in pieces will represent cells. */
async function valuesAside(store: Store): Promise<number> {
  const text = `SELECT count(*) AS n FROM PresentValue v JOIN IncomingFile f
    ON f.shown = 0 AND v.measurementId BETWEEN f.firstMeasurementId AND f.lastMeasurementId`;
  return (await store.beneath!((tx) => selectAll<{ n: number }>(tx, text)))[0].n;
}

describe('a table of many rows', () => {
  it('is seen whole or not at all, whenever one looks while it is taken', async () => {
    await take(table(100, 200));
    const before = await seen();
    let over = false;
    const looks: string[][] = [];
    const looking = (async () => {
      while (!over) looks.push(await seen());
    })();
    const report = await take(table(250, 1500));
    over = true;
    await looking;
    expect(report).toMatchObject({ state: 'taken', cellsCreated: 1450 });
    const after = await seen();
    after.forEach((answer, i) => {
      expect(answer).not.toBe(before[i]);
      for (const look of looks) expect([before[i], answer]).toContain(look[i]);
    });
    expect(looks.length).toBeGreaterThan(0);
  });

  it('ends as it would in one transaction: cells old and new, values, marks, and what represents each cell', async () => {
    const other = await openTestApp();
    await makeLot(other.context.store, 'L');
    const whole = { ...other.context, store: { ...other.context.store, beneath: null } };
    for (const text of [table(100, 300), table(200, 600), otherTable(150, 500)])
      for (const context of [test.context, whole])
        expect(await take(text, undefined, context)).toMatchObject({ state: 'taken' });
    const inPieces = await stored(test.context.store);
    expect(inPieces).toEqual(await stored(other.context.store));
    expect(inPieces[0]).toHaveLength(700);
    await other.close();
  });

  it('that is stopped, or fails at its end, leaves nothing, and can be taken afterwards', async () => {
    await take(table(100, 50));
    const [before, rows] = [await seen(), await inTables(test.context.store)];
    if (!onPostgresql)
      for (const calls of [2, 4, 7]) {
        let called = 0;
        const stop = () => {
          if (++called > calls) throw new Error('stopped');
        };
        await expect(take(table(100, 800), stop)).rejects.toThrow('stopped');
        expect(await inTables(test.context.store)).toEqual(rows);
      }
    const file = {
      name: 'x.csv',
      open: async () => bufferSource(Buffer.from(table(100, 800))),
      rereadable: true,
    };
    const fails = async () => {
      throw new Error('cannot be noted');
    };
    await expect(importFile(test.context, file, { lot: 'L' }, 'x', undefined, fails)).rejects.toThrow(
      'noted',
    );
    expect(await inTables(test.context.store)).toEqual(rows);
    expect(await seen()).toEqual(before);
    expect(await take(table(100, 800))).toMatchObject({ state: 'taken', cellsCreated: 750 });
  });

  it('of cells that are there is seen whole or not at all too, with what represents each cell and can be paired', async () => {
    await take(otherTable(100, 900));
    const before = await seen();
    let over = false;
    const looks: string[][] = [];
    const looking = (async () => {
      while (!over) looks.push(await seen());
    })();
    expect(await take(table(100, 900))).toMatchObject({ state: 'taken', cellsCreated: 0 });
    over = true;
    await looking;
    const after = await seen();
    for (const look of looks)
      for (const [i, answer] of after.entries()) expect([before[i], answer]).toContain(look[i]);
    expect(looks.length).toBeGreaterThan(0);
    expect(after).not.toEqual(before);
  });

  it('of cells whose values are changed meanwhile ends as if that had been before', async () => {
    const other = await openTestApp();
    await makeLot(other.context.store, 'L');
    const whole = { ...other.context, store: { ...other.context.store, beneath: null } };
    for (const context of [test.context, whole]) {
      await take(otherTable(100, 300), undefined, context);
      await take(table(100, 300), undefined, context);
      const { store } = context;
      let changed = store.beneath === null;
      if (changed) await changeSome(store);
      const beneath: Store['beneath'] =
        store.beneath &&
        (async (work) => {
          const done = await store.beneath!(work);
          // As soon as what the file makes of the first cells is put beside what holds.
          if (!changed && (await valuesAside(store)) > 0) {
            changed = true;
            await changeSome(store);
          }
          return done;
        });
      const report = await take(cycleTable(100, 300), undefined, {
        ...context,
        store: { ...store, beneath },
      });
      expect([report.state, changed]).toEqual(['taken', true]);
    }
    const [cells, , present] = await stored(test.context.store);
    expect([cells, present]).toEqual((await stored(other.context.store)).filter((_, i) => i !== 1));
    expect(present).toContainEqual(expect.objectContaining({ serial: 'C-110', value: 1.7, readings: 2 }));
    await other.close();
  });

  it.skipIf(onPostgresql)(
    'puts counted states on the capacities that it brings, of cells counted just before it is shown too',
    async () => {
      const { store } = test.context;
      await take(otherTable(100, 300));
      const count = (serial: string) =>
        store.transaction(async (tx) => {
          const cellId = (await findCellIds(tx, lotId, [serial])).get(serial)!;
          const counted = { fromSoc: 1, chargeAh: -1, ratedCapacityAh: 2.5 };
          const resistance = { quantity: 'resistance', value: 0.03, unit: 'ohm', soc: 0.6, counted } as const;
          await insertMeasurements(tx, [newMeasurement(cellId, resistance)], at);
        });
      await count('C-111');
      let late = false;
      const transaction: Store['transaction'] = async (work) => {
        if (!late && (await valuesAside(store)) > 0) {
          late = true;
          await count('C-112');
        }
        return store.transaction(work);
      };
      const report = await take(table(100, 300), undefined, {
        ...test.context,
        store: { ...store, transaction },
      });
      expect([report.state, late]).toEqual(['taken', true]);
      const states = await selectAll<{ soc: number }>(
        store,
        'SELECT soc FROM Measurement WHERE countedAh IS NOT NULL ORDER BY cellId',
      );
      // The capacities of these two cells in the table, in place of the rated 2.5 Ah.
      expect(states.map(({ soc }) => soc)).toEqual([
        expect.closeTo(1 - 1 / 2.011, 9),
        expect.closeTo(1 - 1 / 2.012, 9),
      ]);
    },
  );

  it.skipIf(onPostgresql)(
    'that could not finish after it was taken is there whole, and is finished later',
    async () => {
      const other = await openTestApp();
      await makeLot(other.context.store, 'L');
      for (const context of [test.context, other.context])
        await take(otherTable(100, 700).replaceAll(',3.6', ',3.5'), undefined, context);
      const { store } = test.context;
      const beneath: Store['beneath'] = (work) =>
        store.beneath!(async (tx) => {
          const [{ shown }] = await selectAll<{ shown: number }>(
            tx,
            'SELECT count(*) AS shown FROM IncomingFile WHERE shown = 1',
          );
          if (shown === 1) throw Object.assign(new Error('the disk is full'), { code: 'SQLITE_FULL' });
          return work(tx);
        });
      const text = otherTable(90, 700);
      const report = await take(text, undefined, { ...test.context, store: { ...store, beneath } });
      expect(report).toMatchObject({ state: 'taken', cellsCreated: 10 });
      expect(await hasIncoming(store, lotId)).toBe(true);
      const after = await seen();
      await take(text, undefined, other.context);
      expect(await stored(store)).toEqual(await stored(other.context.store));
      expect(await sweepIncomingFiles(store, 'none')).toBe(1);
      expect(await inTables(store)).toEqual(await inTables(other.context.store));
      expect(await stored(store)).toEqual(await stored(other.context.store));
      expect(await seen()).toEqual(after);
      await other.close();
    },
  );

  it.skipIf(onPostgresql)(
    'is hidden at once when it is undone, whatever is made of other cells, and not where something is made of its own',
    async () => {
      const { store } = test.context;
      await take(table(100, 50));
      const [{ id: other }] = await selectAll<{ id: number }>(store, `SELECT min(id) AS id FROM Cell`);
      const study = (cellIds: number[]) =>
        runSql(
          store,
          `INSERT INTO ChargeStudy (name, descriptionJson, algorithm, algorithmVersion, inputsJson, state, createdAt, createdBy)
         VALUES ('s', '{}', 'a', '1', ?, 'waiting', ?, 'local')`,
          JSON.stringify({ cellIds }),
          at,
        );
      await study([other]);
      const [before, rows] = [await seen(), await inTables(store)];
      const report = await take(otherTable(1000, 400));
      await undoImport(test.context, report.sourceFileId ?? 0);
      expect(await hasIncoming(store, lotId)).toBe(true);
      expect((await seen()).filter((_, i) => i !== 6)).toEqual(before.filter((_, i) => i !== 6));
      expect(await sweepIncomingFiles(store, 'none')).toBe(1);
      expect(await inTables(store)).toEqual(rows);
      const again = await take(otherTable(1000, 400));
      const [{ id: own }] = await selectAll<{ id: number }>(store, `SELECT max(id) AS id FROM Cell`);
      await study([other, own]);
      await undoImport(test.context, again.sourceFileId ?? 0);
      expect(await hasIncoming(store, lotId)).toBe(false);
      expect(await selectAll(store, `SELECT id FROM Cell WHERE serial LIKE 'C-1___'`)).toEqual([{ id: own }]);
    },
  );

  it.skipIf(onPostgresql)(
    'refuses its serials to others meanwhile, and starts again where a cell of it was removed',
    async () => {
      const earlier = await take(table(100, 40));
      const text = table(100, 900);
      let done = 0;
      const refusals: { status: number; body: { code?: string; detail?: string } }[] = [];
      const taking = take(text, () => {
        if (++done !== 6) return;
        // The first pieces are stored; nothing of this waits for the import.
        void request(test.app)
          .post('/api/v1/cells')
          .send({ lotId, serial: 'C-200', note: '' })
          .then(({ status, body }) => refusals.push({ status, body }));
        void undoImport(test.context, earlier.sourceFileId ?? 0);
      });
      expect(await taking).toMatchObject({
        state: 'taken',
        cellsCreated: 900,
        measurementsCreated: expect.any(Number),
      });
      expect(refusals).toMatchObject([{ status: 409, body: { code: 'conflict' } }]);
      const cells = await selectAll(test.context.store, `SELECT serial FROM Cell WHERE serial LIKE 'C-%'`);
      expect(cells).toHaveLength(900);
    },
  );

  it.skipIf(onPostgresql)(
    'whose process is killed at any moment is not seen, and the next one takes it whole',
    async () => {
      const { store } = test.context;
      await take(table(100, 50));
      const path = join(test.folder, 'big.csv');
      writeFileSync(path, table(120, 4000));
      const [before, rows] = [await seen(), await inTables(store)];
      const command = [...programArguments, 'import', path, '--lot', 'L'];
      for (const afterMs of [0, 150, 500]) {
        const child = spawn(process.execPath, command, {
          cwd: projectRoot,
          env: { ...process.env, ...test.variables },
          stdio: 'ignore',
        });
        const ended = once(child, 'exit');
        while (!(await hasIncoming(store, lotId)) && child.exitCode === null) await delay(5);
        await delay(afterMs);
        child.kill('SIGKILL');
        expect(await ended).toEqual([null, 'SIGKILL']);
        expect(await seen()).toEqual(before);
      }
      expect(await sweepIncomingFiles(store, 'none')).toBe(1);
      expect(await inTables(store)).toEqual(rows);
      expect(await seen()).toEqual(before);
      expect(await take(table(120, 4000))).toMatchObject({ state: 'taken', cellsCreated: 3970 });
      expect(await selectAll(store, 'PRAGMA integrity_check')).toEqual([{ integrity_check: 'ok' }]);
      expect(await selectAll(store, 'PRAGMA foreign_key_check')).toEqual([]);
    },
  );
});
