import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inOrder } from '../../server/inOrder.ts';
import { insertMeasurements, type NewMeasurement } from '../../server/store/measurements.ts';
import { judgeLot } from '../../server/use-cases/lots/judgeLot.ts';
import { readLotCells } from '../../server/use-cases/lots/readLotCells.ts';
import { readLotColumns } from '../../server/use-cases/lots/readLotColumns.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const capacity = (cellId: number, value: number, excludedReason: string | null): NewMeasurement =>
  newMeasurement(cellId, { value, direction: 'discharge', excludedReason });

describe('a measurement that is left out as one that cannot be', () => {
  let test: TestApp;
  let lotId: number;
  beforeAll(async () => {
    test = await openTestApp();
    lotId = (await makeLot(test.context)).lot.id;
    const ids = await inOrder(
      ['A', 'B', 'C'],
      async (serial) => (await createCell(test.context, { lotId, serial, note: '' })).id,
    );
    await insertMeasurements(
      test.context.store,
      [
        ...ids.map((id) => capacity(id, 2, null)),
        capacity(ids[0], 9, 'above-plausible-limit'),
        capacity(ids[1], 0, 'zero'),
      ],
      '2026-02-01T08:00:00.000Z',
    );
  });
  afterAll(async () => test.close());

  it('stands in no column of the lot, although it is the newest', async () => {
    const { columns } = await readLotColumns(test.context, lotId);
    expect(columns.map(({ quantity, cellCount }) => [quantity, cellCount])).toEqual([['capacity', 3]]);
    const [{ key }] = columns;
    const [judged] = (await judgeLot(test.context, lotId, key)).columns;
    expect(judged).toMatchObject({ n: 3, minimum: 2, maximum: 2 });
    const { items } = await readLotCells(test.context, lotId, {
      limit: 10,
      sort: key,
      columns: key,
    });
    expect(items.map(({ values }) => values[key].value)).toEqual([2, 2, 2]);
  });
});
