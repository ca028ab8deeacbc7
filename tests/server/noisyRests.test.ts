import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { parameterSet } from '../../server/contract/parameterSet.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { findTest } from '../../server/store/tests.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { newTestMeasurement } from '../../server/use-cases/evaluation/newTestMeasurement.ts';
import { writeExport } from '../../server/use-cases/exports/writeExport.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { recordOf } from '../fitting/records/recordOf.ts';
import { runSql, selectAll, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

/** A rest of 1.5 h whose current channel reads ±5 mA. */
function noisyRest(seed: number) {
  const normal = normalSource(seededRandom(seed));
  const record = recordOf([{ seconds: 5400, currentA: 0, intervalS: 5 }], { noiseV: 1e-4, seed });
  return { ...record, currentA: record.currentA.map(() => 0.004 * normal()) };
}

describe('a rest with a noisy current', () => {
  let test: TestApp;
  let filled: FilledStore;
  beforeAll(async () => {
    test = await openTestApp();
    filled = await fillStore(test.context);
  });
  afterAll(async () => test.close());

  it('is evaluated as a rest: no pulses, and no resistance of the cell is stored', async () => {
    const record = noisyRest(1);
    const result = evaluatePulseRecord(record, { ratedCapacityAh: 2, startSoc: 0.5 });
    expect(result.pulses).toEqual([]);
    expect(result.steps.map((step) => step.kind)).toEqual(['rest']);
    const rows = [...record.timeS].map((t, i) => `${t},${record.voltageV[i]},${record.currentA[i]}`);
    const bytes = Buffer.from(['time_s,voltage_V,current_A', ...rows, ''].join('\n'));
    const report = await importFile(
      test.context,
      { name: 'rest.csv', open: () => Promise.resolve(bufferSource(bytes)), rereadable: true },
      { lot: 'Los "A", Teil 1/2', cell: 'N-001', testKind: 'pulse', kind: 'record' },
      'batch',
    );
    expect(report.state).toBe('taken');
    const testId = (await selectOne<{ id: number }>(test.context.store, 'SELECT MAX(id) AS id FROM Test'))
      ?.id as number;
    await evaluateTest(test.context, testId);
    const stored = await selectAll<{ quantity: string }>(
      test.context.store,
      "SELECT quantity FROM Measurement WHERE testId = ? AND quantity IN ('resistance', 'r0', 'rdc')",
      testId,
    );
    expect(stored).toEqual([]);
  });

  it('says which short steps are not pulses because the voltage does not follow them', () => {
    // Two steps of 5 mA that stay for seconds, in a record with real pulses: too few to be told from a load by number.
    const record = recordOf(
      [
        { seconds: 600, currentA: 0, intervalS: 1 },
        { seconds: 10, currentA: -1, intervalS: 0.1 },
        { seconds: 600, currentA: 0, intervalS: 1 },
        { seconds: 20, currentA: 0.005, intervalS: 1 },
        { seconds: 600, currentA: 0, intervalS: 1 },
      ],
      { noiseV: 3e-4 },
    );
    const result = evaluatePulseRecord(record);
    expect(result.pulses).toHaveLength(1);
    expect(result.warnings.map((warning) => warning.code)).toContain('steps-not-answered');
  });

  it('is not stored as a value that a cell cannot have', async () => {
    const stored = await findTest(test.context.store, filled.testIds[0]);
    if (!stored) throw new Error('the test is missing');
    const make = (value: number, standardUncertainty: number | null) =>
      newTestMeasurement(stored, 1, {
        quantity: 'r0',
        unit: 'Ohm',
        value,
        standardUncertainty,
        method: 'test',
      });
    expect(make(-0.29, 0.01)).toMatchObject({
      value: null,
      standardUncertainty: null,
      reason: 'not-positive',
    });
    expect(make(0.03, Infinity)).toMatchObject({ value: null, reason: 'undetermined' });
    expect(make(Number.NaN, null)).toMatchObject({ value: null, reason: 'not-finite' });
    expect(make(0.03, 0.001)).toMatchObject({ value: 0.03, standardUncertainty: 0.001, reason: null });
  });

  it('does not stop the export of a lot: what one cell has in a damaged form is named, the rest goes out', async () => {
    const { store } = test.context;
    const [testId] = filled.testIds;
    const { id, resultJson } = (await selectOne<{ id: number; resultJson: string }>(
      store,
      'SELECT id, resultJson FROM Fit WHERE testId = ? AND supersededAt IS NULL',
      testId,
    ))!;
    const stored = JSON.parse(resultJson);
    stored.pulses[0].circuit.r0Ohm = null;
    await runSql(store, 'UPDATE Fit SET resultJson = ? WHERE id = ?', JSON.stringify(stored), id);
    await runSql(
      store,
      `UPDATE Measurement SET standardUncertainty = ? WHERE testId = ? AND quantity = 'r0'`,
      Number.POSITIVE_INFINITY,
      testId,
    );
    const written = await writeExport(test.context, {
      format: 'parameters-json',
      subjectKind: 'lot',
      subjectId: filled.lotId,
      pulseDirection: 'charge',
      withRecords: false,
      profileAgainst: 'time',
    } as Parameters<typeof writeExport>[1]);
    const set = parameterSet.parse(JSON.parse(Buffer.from(written.data).toString('utf8')));
    const damaged = set.cells.find((cell) => cell.id === filled.cellIds[0]);
    expect(damaged?.leftOut).toEqual([
      { kind: 'pulse', fitId: expect.any(Number), testId, reason: 'does-not-match-schema' },
    ]);
    expect(damaged?.circuits).toEqual([]);
    expect(damaged?.capacity.value).toBe(1.95);
    const r0 = damaged?.measurements.filter((m) => m.quantity === 'r0').map((m) => m.result);
    expect(r0?.length).toBeGreaterThan(0);
    for (const result of r0 ?? []) expect(result).toMatchObject({ value: null, reason: 'undetermined' });
    const sound = set.cells.find((cell) => cell.id === filled.cellIds[1]);
    expect(sound?.circuits.length).toBeGreaterThan(0);
    expect(sound?.leftOut).toEqual([]);
  });
});
