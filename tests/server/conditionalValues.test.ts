import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { resistanceCondition } from '../../server/assess/ageing/ageingSeries.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { listCells } from '../../server/store/cells.ts';
import { listCellMeasurements } from '../../server/store/measurements.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { judgeLot } from '../../server/use-cases/lots/judgeLot.ts';
import { readLotColumns } from '../../server/use-cases/lots/readLotColumns.ts';
import { makeLot } from '../support/basics.ts';
import { recordText, type SimulatedBench, simulatedRecord } from '../support/simulatedPulses.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/** A 10 s pulse at −2.5 A; at rows of 1 s the moment of its edges leaves R0 open by several percent. */
const bench = (intervalS: number): SimulatedBench => ({
  cell: {
    r0Ohm: 0.03,
    branches: [
      { rOhm: 0.015, tauS: 5 },
      { rOhm: 0.02, tauS: 60 },
    ],
    ocvV: 3.7,
    slopeVPerAs: 0,
  },
  programme: [
    { durationS: 60, currentA: 0 },
    { durationS: 10, currentA: -2.5 },
    { durationS: 300, currentA: 0 },
  ],
  intervalS,
  phase: 'any',
  noiseV: 2e-4,
  noiseA: 2e-4,
});

describe('values that hold only under what their record cannot tell', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
  });
  afterAll(() => test.close());

  async function lotOf(name: string, intervalS: number): Promise<number> {
    const { lot } = await makeLot(test.context, { lot: name });
    for (let k = 0; k < 5; k++) {
      const random = seededRandom(k + 1);
      const bytes = Buffer.from(recordText(simulatedRecord(bench(intervalS), random, normalSource(random))));
      const file = { name: `${name}-${k}.csv`, open: async () => bufferSource(bytes), rereadable: true };
      const options = { lot: lot.name, cell: `${name}-${k}`, testKind: 'pulse' as const, startSoc: 0.5 };
      const report = await importFile(test.context, file, options, 'b');
      await evaluateTest(test.context, report.runs[0].testId as number);
    }
    return lot.id;
  }

  it('are kept with their cell and the reason, but stand in no column and are not judged', async () => {
    const lotId = await lotOf('slow', 1);
    const { columns, suggested, notCompared } = await readLotColumns(test.context, lotId);
    const quantities = new Set(columns.map(({ quantity }) => quantity));
    expect(quantities.has('r0')).toBe(false);
    expect(notCompared).toContainEqual({
      quantity: 'r0',
      durationS: null,
      reason: 'sampling',
      cellCount: 5,
    });
    // R(10 s) is determined by rows of 1 s, and is what the lot is compared by.
    const column = columns.find(({ quantity, durationS }) => quantity === 'resistance' && durationS === 10);
    expect(column?.cellCount).toBe(5);
    expect(suggested).toContain(column?.key);
    const judged = await judgeLot(test.context, lotId, suggested.join(','));
    expect(judged.columns.map(({ key }) => key)).not.toContainEqual(expect.stringMatching(/^r0/));
    const [cell] = await listCells(test.context.store, lotId);
    const kept = await listCellMeasurements(test.context.store, cell.id);
    const r0 = kept.find(({ quantity }) => quantity === 'r0');
    expect(r0).toMatchObject({ reason: null, excludedReason: 'sampling' });
    expect(Math.abs((r0?.value as number) - 0.03)).toBeLessThan(2 * (r0?.standardUncertainty as number));
    const onlyR0 = [{ cell: { id: cell.id, serial: 's' }, measurements: r0 === undefined ? [] : [r0] }];
    expect(resistanceCondition(onlyR0, null)).toBeNull();
  });

  it('are compared where the record determines them to a percent', async () => {
    const { columns, notCompared } = await readLotColumns(test.context, await lotOf('quick', 0.1));
    expect(columns.find(({ quantity }) => quantity === 'r0')?.cellCount).toBe(5);
    expect(notCompared.filter(({ quantity }) => quantity === 'r0')).toEqual([]);
  });
});
