import { describe, expect, it } from 'vitest';
import { scaledTables } from '../../server/assess/parameters/scaledTables.ts';
import type { CircuitTable } from '../../server/contract/parameterSet.ts';

const value = (amount: number, unit: 'Ohm' | 's' | 'V') => ({
  value: amount,
  unit,
  standardUncertainty: 0.01 * amount,
  reason: null,
});

const table = (fitId: number): CircuitTable => ({
  direction: 'charge',
  temperatureC: 25,
  rows: [
    {
      soc: 0.5,
      currentA: 2,
      ocv: value(3.6, 'V'),
      r0: value(0.02, 'Ohm'),
      branches: [{ r: value(0.01, 'Ohm'), tau: value(20, 's') }],
      covariance: { names: ['r0'], units: ['Ohm'], matrix: [[4e-8]] },
    },
  ],
  validity: {
    socMin: 0.5,
    socMax: 0.5,
    temperatureMinC: 25,
    temperatureMaxC: 25,
    currentMaxA: 2,
    durationMaxS: 60,
  },
  fitId,
  testId: 1,
});

const scale = (fitId: number, r0: number, branches: number | null) => ({
  fitId,
  scale: {
    schemaVersion: 1 as const,
    r0Factor: { value: r0, standardUncertainty: 0 },
    branchFactor: branches === null ? null : { value: branches, standardUncertainty: 0.02 * branches },
  },
});

describe('factors of measured charges', () => {
  const [first, second] = [scale(20, 1.2, null), scale(40, 1.05, 1.5)];
  const resistances = (tables: readonly CircuitTable[]) =>
    tables.map(({ fitId, rows: [row] }) => [fitId, row.r0.value, row.branches[0].r.value]);

  it('are each on the tables fitted before them, on top of the earlier ones', () => {
    const scaled = scaledTables([table(10), table(30), table(50)], [second, first]);
    expect(resistances(scaled)).toEqual([
      [40, 0.02 * 1.2 * 1.05, 0.01 * 1.5],
      [40, 0.02 * 1.05, 0.01 * 1.5],
      [50, 0.02, 0.01],
    ]);
  });

  it('hold again without a later one that is taken back', () => {
    expect(resistances(scaledTables([table(10), table(30)], [first]))).toEqual([
      [20, 0.02 * 1.2, 0.01],
      [30, 0.02, 0.01],
    ]);
  });

  it('add their uncertainty and leave no covariance behind', () => {
    const [{ rows }] = scaledTables([table(10)], [second]);
    expect(rows[0].branches[0].r.standardUncertainty).toBeCloseTo(Math.hypot(1.5e-4, 3e-4), 12);
    expect(rows[0].covariance).toBeNull();
    expect(table(10).rows[0].covariance).not.toBeNull();
  });
});
