import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ParameterMeasurement } from '../../server/contract/parameterSet.ts';
import { compactParameters } from '../../server/export/compactParameters.ts';
import { readParameters } from '../../server/use-cases/parameters/readParameters.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { fillStore } from './exportStore.ts';

const capacity = (id: number, cycle: number | null, value: number | null, currentA: number | null) =>
  ({
    id,
    quantity: 'capacity',
    result:
      value === null
        ? { value, unit: 'A.h', standardUncertainty: null, reason: 'not-measured' }
        : { value, unit: 'A.h', standardUncertainty: null, reason: null },
    condition: { soc: null, temperatureC: 25, direction: null, durationS: null, currentA },
    cycle,
    efc: null,
    method: 'm',
    excludedReason: null,
    measuredAt: null,
    testId: null,
    fitId: null,
    fileId: null,
    fileRow: null,
  }) satisfies ParameterMeasurement;

describe('the compact form of a parameter set', () => {
  let test: TestApp;
  let cellId: number;
  beforeAll(async () => {
    test = await openTestApp();
    cellId = (await fillStore(test.context)).cellIds[0];
  });
  afterAll(() => test.close());

  const keptOf = async (measurements: readonly ParameterMeasurement[]) => {
    const set = await readParameters(test.context, 'cell', cellId);
    const [cell] = set.cells;
    const [kept] = compactParameters({ ...set, cells: [{ ...cell, measurements: [...measurements] }] }).cells;
    return kept.measurements.map(({ id }) => id);
  };

  it('holds the value of the greatest age, whenever it was evaluated, and none that is missing', async () => {
    expect(
      await keptOf([capacity(1, 0, 2, -1), capacity(2, 500, 1.8, -1.003), capacity(3, 100, 1.95, -1)]),
    ).toEqual([2]);
    expect(await keptOf([capacity(1, 500, 1.8, -1), capacity(2, 600, null, -1)])).toEqual([1]);
    expect(await keptOf([capacity(1, null, 2, -1), capacity(2, null, 2.01, -1)])).toEqual([2]);
  });

  it('keeps values at different currents apart', async () => {
    expect(await keptOf([capacity(1, 0, 2.1, -0.1), capacity(2, 0, 1.9, -2)])).toEqual([1, 2]);
  });
});
