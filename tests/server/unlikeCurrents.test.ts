import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { unlikeCurrents } from '../../server/assess/lots/unlikeCurrents.ts';
import { createPairing } from '../../server/contract/pairings.ts';
import { inOrder } from '../../server/inOrder.ts';
import { insertMeasurements } from '../../server/store/measurements.ts';
import { judgeLot } from '../../server/use-cases/lots/judgeLot.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('values of one column that were measured with unlike currents', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
  });
  afterAll(async () => test.close());

  it('are named by a pairing that is based on them, and those that state no current are not', async () => {
    const { lot } = await makeLot(test.context);
    const currents: readonly (number | null)[] = [-0.4, -0.41, -0.1, -0.39, null, -0.4];
    const rows = await inOrder(currents, async (currentA, i) => {
      const { id } = await createCell(test.context, { lotId: lot.id, serial: `U${i}`, note: '' });
      return newMeasurement(id, { value: 2 + i / 1000, currentA });
    });
    await insertMeasurements(test.context.store, rows, test.context.now().toISOString());
    const tolerance = { kind: 'percent', value: 5 };
    const features = [{ name: 'capacity', quantity: 'capacity', column: 'capacity', tolerance }];
    const run = await runPairing(
      test.context,
      createPairing.parse({ lotIds: [lot.id], criteria: { features } }),
    );
    expect(run.result.warnings).toContainEqual({
      code: 'unlike-currents',
      feature: 'capacity',
      cells: ['U2'],
    });
  });

  it('do not mix where cells have capacities at two rates: each gives the one that most cells have', async () => {
    const { lot } = await makeLot(test.context, { lot: 'two rates' });
    const rows = await inOrder([0, 1, 2, 3], async (i) => {
      const { id } = await createCell(test.context, { lotId: lot.id, serial: `V${i}`, note: '' });
      const slow = newMeasurement(id, { value: 2.1, currentA: -0.1 });
      const usual = newMeasurement(id, { value: 2, currentA: -1 });
      // The newest is the slow one for some cells, and the usual one for others; the last cell has no slow one.
      return i === 3 ? [usual] : i % 2 === 0 ? [usual, slow] : [slow, usual];
    });
    await insertMeasurements(test.context.store, rows.flat(), test.context.now().toISOString());
    const { columns } = await judgeLot(test.context, lot.id, 'capacity');
    expect(columns[0]).toMatchObject({
      n: 4,
      minimum: 2,
      maximum: 2,
      mixedCurrents: null,
      currents: { leastA: 1, greatestA: 1 },
    });
  });

  it('are those a fifth away from the usual current, whatever its sign', () => {
    const values = [1, -1, 1.19, 1.25, 0.8, null].map((currentA) => ({ currentA }));
    expect(unlikeCurrents(values)).toEqual([{ currentA: 1.25 }, { currentA: 0.8 }]);
    expect(unlikeCurrents([{ currentA: 3 }, { currentA: null }])).toEqual([]);
  });
});
