import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

const path = 'datasets/panasonic-18650pf/hppc_25degC.csv';

describe.skipIf(sharedIsMissing(path))('a real pulse record through the store', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
    await makeLot(test.context.store, 'L-1');
    const bytes = readFileSync(sharedPath(path));
    const file = { name: 'pulses.csv', open: async () => bufferSource(bytes), rereadable: true };
    await importFile(test.context, file, { lot: 'L-1', cell: 'C-1', testKind: 'pulse' }, 'b');
  });
  afterAll(async () => test.close());

  it('keeps resistances with duration, SOC, temperature and direction; the charge counter carries SOC over gaps', async () => {
    const { store } = test.context;
    const { id } = (await selectOne<{ id: number }>(store, 'SELECT id FROM Test'))!;
    const { evaluation } = await evaluateTest(test.context, id, { startSoc: 1, ratedCapacityAh: 2.9 });
    if (evaluation.kind !== 'pulse') throw new Error(`The test was evaluated as ${evaluation.kind}`);
    expect(evaluation.result.pulses).toHaveLength(67);
    const kept = await selectAll<{
      value: number;
      soc: number;
      temperatureC: number;
      direction: string;
      currentA: number;
    }>(
      store,
      `SELECT value, soc, temperatureC, direction, currentA FROM Measurement
       WHERE quantity = 'resistance' AND durationS = 10 AND supersededAt IS NULL AND soc IS NOT NULL`,
    );
    expect(kept.length).toBeGreaterThanOrEqual(60);
    expect(kept.every((row) => row.direction === 'discharge')).toBe(true);
    const half = kept.filter(
      (row) => Math.abs(row.soc - 0.4986) < 0.002 && Math.abs(row.currentA + 2.9) < 0.05,
    );
    expect(half).toHaveLength(1);
    expect(Math.abs(half[0].value / 0.0373 - 1)).toBeLessThan(0.02);
    expect(half[0].temperatureC).toBeCloseTo(25.6, 0);
  });
});
