import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { CompiledQuery } from 'kysely';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type RandomSource, seededRandom } from '../../fitting/statistics/random.ts';
import type { QuantityName } from '../../server/contract/measurements.ts';
import { inOrder } from '../../server/inOrder.ts';
import { setSocs } from '../../server/store/countedStates.ts';
import { insertFit } from '../../server/store/fits.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { migrationNames, migrationsFolder } from '../../server/store/migrations.ts';
import { insertTest } from '../../server/store/tests.ts';
import { restoreImport } from '../../server/use-cases/imports/restoreImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { changeMeasurement } from '../../server/use-cases/register/changeMeasurement.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { runSql, selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

interface Row {
  readonly id: number;
  readonly cellId: number;
  readonly lotId: number;
  readonly testId: number | null;
  readonly quantity: QuantityName;
  readonly value: number;
  readonly durationS: number | null;
  readonly direction: string | null;
  readonly soc: number | null;
  readonly temperatureC: number | null;
  readonly currentA: number | null;
  readonly cycle: number | null;
}

const at = '2026-02-01T08:00:00.000Z';
const quantities = ['capacity', 'resistance', 'drift'] as const;

describe('the values that represent the cells', () => {
  let test: TestApp;
  let lotIds: number[];
  let cellIds: number[];
  let files: { id: number; lotId: number; taken: boolean }[];
  beforeAll(async () => {
    test = await openTestApp();
    lotIds = await inOrder(['one', 'two'], async (lot) => (await makeLot(test.context, { lot })).lot.id);
    cellIds = await inOrder([0, 1, 2, 3, 4], async (i) => {
      const cell = { lotId: lotIds[i % 2], serial: `C-${i}`, note: '' };
      return (await createCell(test.context, cell)).id;
    });
    files = await inOrder([0, 1, 2], async (i) => {
      const { id } = await runSql(
        test.context.store,
        `INSERT INTO SourceFile (name, sha256, takenSha256, bytes, kind, state, importedAt, importedBy)
         VALUES (?, ?, ?, 1, 'cell-table', 'taken', ?, 'local')`,
        `file ${i}`,
        `sha ${i}`,
        `sha ${i}`,
        at,
      );
      await runSql(
        test.context.store,
        'UPDATE SourceFile SET reportJson = ? WHERE id = ?',
        reportText(id),
        id,
      );
      return { id, lotId: lotIds[0], taken: true };
    });
  });
  afterAll(async () => test.close());

  const reportText = (sourceFileId: number) =>
    JSON.stringify({
      sourceFileId,
      fileName: 'x',
      state: 'taken',
      kind: 'cell-table',
      sha256: null,
      bytes: 1,
      rowCount: 1,
      dialect: null,
      mapping: [],
      runs: [],
      cells: [],
      cellsCreated: 0,
      measurementsCreated: 0,
      warnings: [],
      refusal: null,
    });

  const one = <T>(random: RandomSource, of: readonly T[]): T => of[Math.floor(random() * of.length)];

  function drawn(random: RandomSource, cellId: number) {
    return newMeasurement(cellId, {
      quantity: one(random, quantities),
      value: one(random, [null, 1, 2, 3, 4]),
      soc: one(random, [null, 0.48, 0.51, 0.53]),
      temperatureC: one(random, [null, 24, 27]),
      durationS: one(random, [null, 10]),
      direction: one(random, [null, 'charge', 'discharge'] as const),
      currentA: one(random, [null, 0, -1, -1.05, -2.2, 4]),
      cycle: one(random, [null, 0, 5, 6]),
      excludedReason: one(random, [null, null, null, 'zero']),
    });
  }

  /** One of the ways in which measurements come, go and come back. */
  async function change(random: RandomSource): Promise<void> {
    const { context } = test;
    const cellId = one(random, cellIds);
    const way = Math.floor(random() * 6);
    if (way === 0) {
      const file = one(random, files);
      const rows = [0, 1, 2].map(() => ({
        ...drawn(random, one(random, cellIds)),
        sourceFileId: file.taken ? file.id : null,
      }));
      await context.store.transaction(async (tx) => insertMeasurements(tx, rows, at));
    } else if (way === 1) {
      await context.store.transaction(async (tx) => {
        const testId = await insertTest(tx, {
          cellId,
          kind: 'pulse',
          label: '',
          startedAt: null,
          temperatureC: null,
          cycle: null,
          sourceFileId: one(
            random,
            files.map(({ id }) => id),
          ),
          firstRow: 1,
          lastRow: 1,
          createdAt: at,
        });
        await insertMeasurements(tx, [{ ...drawn(random, cellId), testId }], at);
      });
    } else if (way === 2) {
      const rows = await selectAll<{ id: number; excludedReason: string | null }>(
        context.store,
        'SELECT id, excludedReason FROM Measurement WHERE supersededAt IS NULL ORDER BY id',
      );
      if (rows.length === 0) return;
      const row = one(random, rows);
      await changeMeasurement(context, row.id, {
        excludedReason: row.excludedReason === null ? 'a slip' : null,
      });
    } else if (way === 3) {
      await context.store.transaction(async (tx) => {
        const subject = { kind: 'ageing' as const, quantity: 'capacity', cellId };
        const about = { algorithm: 'x', algorithmVersion: '1', settings: {}, inputs: {}, result: {} };
        const fitId = await insertFit(tx, { ...subject, ...about, createdAt: at, createdBy: 'local' });
        await insertMeasurements(tx, [{ ...drawn(random, cellId), fitId }], at);
      });
    } else if (way === 4) {
      const rows = await selectAll<{ id: number }>(context.store, 'SELECT id FROM Measurement ORDER BY id');
      if (rows.length === 0) return;
      const changes = [{ id: one(random, rows).id, soc: one(random, [null, 0.2, 0.48]) }];
      await context.store.transaction(async (tx) => setSocs(tx, changes));
    } else {
      const file = one(random, files);
      await (file.taken ? undoImport : restoreImport)(context, file.id);
      file.taken = !file.taken;
    }
  }

  /** What the table should hold, from all measurements. */
  async function expected() {
    const rows = await selectAll<Row>(
      test.context.store,
      `SELECT m.id, m.cellId, c.lotId, m.testId, m.quantity, m.value, m.durationS, m.direction, m.soc, m.temperatureC,
         m.currentA, m.cycle FROM Measurement m JOIN Cell c ON c.id = m.cellId
       WHERE m.supersededAt IS NULL AND m.value IS NOT NULL AND m.excludedReason IS NULL`,
    );
    const rateOf = ({ quantity, currentA }: Row) =>
      quantity !== 'capacity' || !currentA ? -1000 : Math.round(Math.log(Math.abs(currentA)) / Math.log(1.2));
    const running = (row: Row) => (row.testId === null && row.cycle !== null ? 1 : 0);
    const groups = new Map<string, Row[]>();
    for (const row of rows) {
      const soc = row.soc === null ? -1 : Math.floor(row.soc * 20 + 0.5);
      const temperatureC = row.temperatureC === null ? -1000 : Math.floor(row.temperatureC / 5 + 0.5) * 5;
      const key = [
        row.cellId,
        row.quantity,
        row.durationS ?? -1,
        row.direction ?? '',
        soc,
        temperatureC,
        rateOf(row),
      ];
      groups.set(key.join(), [...(groups.get(key.join()) ?? []), row]);
    }
    return [...groups]
      .map(([key, own]) => {
        const [first] = own.sort(
          (a, b) => running(a) - running(b) || (b.cycle ?? 0) - (a.cycle ?? 0) || b.id - a.id,
        );
        const readings = own.filter(({ cycle }) => (cycle ?? 0) === (first.cycle ?? 0)).length;
        return { key, measurementId: first.id, value: first.value, readings };
      })
      .sort((a, b) => a.measurementId - b.measurementId);
  }

  async function kept() {
    const rows = await selectAll<Record<string, string | number>>(
      test.context.store,
      `SELECT v.cellId, k.quantity, k.durationS, k.direction, k.socTwentieths, k.temperatureC, v.rate,
         v.measurementId, v.value, v.readings FROM PresentValue v JOIN LotColumn k ON k.id = v.columnId
       JOIN Cell c ON c.id = v.cellId AND c.lotId = k.lotId ORDER BY v.measurementId`,
    );
    return rows.map(({ measurementId, value, readings, ...key }) => ({
      key: Object.values(key).join(),
      measurementId,
      value,
      readings,
    }));
  }

  it('are those found from all measurements, after any sequence of imports, evaluations, marks, undoing and restoring', async () => {
    const random = seededRandom(20_260_201);
    for (let step = 1; step <= 120; step++) {
      await change(random);
      if (step % 3 === 0) expect(await kept(), `step ${step}`).toEqual(await expected());
    }
    expect((await kept()).length).toBeGreaterThan(20);
  });

  it('and with them the number of tests and whether a cell can be paired', async () => {
    const cells = await selectAll<Record<string, number>>(
      test.context.store,
      `SELECT id, testCount, canBePaired,
         (SELECT COUNT(*) FROM Test t WHERE t.cellId = c.id AND t.state = 'sealed') AS tests,
         (SELECT COUNT(DISTINCT m.quantity) FROM Measurement m WHERE m.cellId = c.id AND m.supersededAt IS NULL
            AND m.value IS NOT NULL AND m.excludedReason IS NULL AND m.quantity IN ('capacity', 'resistance')) AS needed
       FROM Cell c ORDER BY id`,
    );
    expect(cells.map(({ testCount }) => testCount)).toEqual(cells.map(({ tests }) => tests));
    expect(cells.map(({ canBePaired }) => canBePaired)).toEqual(
      cells.map(({ needed }) => Number(needed === 2)),
    );
    expect(cells.some(({ tests }) => tests > 0)).toBe(true);
  });

  it('are filled in when a database of an earlier version is opened', async () => {
    const { store } = test.context;
    const before = await kept();
    await store.db.deleteFrom('LotColumn').execute();
    expect(await kept()).toEqual([]);
    const folder = migrationsFolder(store.place.kind);
    const name = migrationNames(store.place.kind).find((each) => each.endsWith('_values_at_hand')) ?? '';
    const text = readFileSync(join(folder, name, 'migration.sql'), 'utf8');
    const filling = text.slice(text.indexOf('-- The present values')).split(/;\s*\n/);
    for (const statement of filling.filter((each) => each.trim() !== ''))
      await store.db.executeQuery(CompiledQuery.raw(statement));
    expect(await kept()).toEqual(before);
  });
});
