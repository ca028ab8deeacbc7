import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { runMainJob } from '../../seed/mainJob.ts';
import { type CellTruth, makeTruth } from '../../seed/scenario.ts';
import { listCells } from '../../server/store/cells.ts';
import { columnValues, readColumnKey } from '../../server/store/measurements.ts';
import { judgeLot } from '../../server/use-cases/lots/judgeLot.ts';
import { addDefaultChemistries } from '../../server/use-cases/register/addDefaultChemistries.ts';
import { findWarningSigns } from '../../server/use-cases/register/findWarningSigns.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

describe('the demonstration lot, from raw files to parameters', () => {
  let test: TestApp;
  const printed: string[] = [];
  const truth = new Map(makeTruth().map((cell) => [cell.serial, cell]));

  beforeAll(async () => {
    test = await openTestApp();
    await addDefaultChemistries(test.context);
    await runMainJob(test.context, join(test.folder, 'demonstration'), (line) => printed.push(line));
  }, 120_000);
  afterAll(() => test.close());

  /** Found over true, of every cell that has both. */
  function ratios(key: string, trueValue: (cell: CellTruth) => number): Map<string, number> {
    const parsed = readColumnKey(key);
    if (!parsed) throw new Error(`${key} is no key`);
    const values = columnValues(test.context.store, 1, parsed);
    const found = new Map<string, number>();
    for (const cell of listCells(test.context.store, 1)) {
      const value = values.get(cell.id)?.value;
      const known = truth.get(cell.serial);
      if (value != null && known) found.set(cell.serial, value / trueValue(known));
    }
    return found;
  }

  it('finds the capacity of all 48 cells within 1.2 % of the truth, of which the end points explain 1 %', () => {
    const found = ratios('capacity/25C', (cell) => cell.capacityAh);
    expect(found.size).toBe(48);
    for (const ratio of found.values()) {
      expect(ratio).toBeGreaterThan(0.985);
      expect(ratio).toBeLessThan(1.002);
    }
    // The end points are the same for all cells, so what is left between the cells is far less.
    const all = [...found.values()];
    expect(Math.max(...all) - Math.min(...all)).toBeLessThan(0.004);
  });

  it('finds R0, both RC branches and their time constants of every cell, the fixture taken off', () => {
    for (const [key, of, tolerance] of [
      ['r0/discharge/soc50/25C', (cell: CellTruth) => cell.r0Ohm, 0.015],
      ['r1/discharge/soc50/25C', (cell: CellTruth) => cell.r1Ohm, 0.04],
      ['tau1/discharge/soc50/25C', (cell: CellTruth) => cell.tau1S, 0.06],
      ['r2/discharge/soc50/25C', (cell: CellTruth) => cell.r2Ohm, 0.12],
      ['tau2/discharge/soc50/25C', (cell: CellTruth) => cell.tau2S, 0.15],
    ] as const) {
      const found = ratios(key, of);
      expect([key, found.size]).toEqual([key, 48]);
      for (const [serial, ratio] of found)
        expect.soft(Math.abs(ratio - 1), `${key} of ${serial}`).toBeLessThan(tolerance);
    }
  });

  it('takes the file with the swapped sign and the one in milliamperes like all others', () => {
    for (const trouble of ['sign-swapped', 'milliamperes']) {
      const cell = [...truth.values()].find((one) => one.planted === trouble);
      const ratio = ratios('r0/discharge/soc50/25C', (one) => one.r0Ohm).get(cell?.serial ?? '');
      expect(Math.abs((ratio ?? 0) - 1)).toBeLessThan(0.015);
    }
  });

  it('finds the drift of every rested cell within four of its standard uncertainties', () => {
    const key = readColumnKey('drift/25C');
    if (!key) throw new Error('drift/25C is no key');
    const values = columnValues(test.context.store, 1, key);
    for (const cell of listCells(test.context.store, 1)) {
      const found = values.get(cell.id);
      const known = truth.get(cell.serial);
      if (!found || found.value === null || !known) throw new Error(`no drift of ${cell.serial}`);
      expect(Math.abs(found.value - known.driftMvPerDay)).toBeLessThan(4 * (found.standardUncertainty ?? 0));
    }
  });

  it('names the weak and the resistive cell as outliers and keeps the drifting one from being paired', () => {
    const statistics = judgeLot(test.context, 1);
    const outliers = (quantity: string) =>
      statistics.columns.find((column) => column.key.startsWith(quantity))?.outliers.map((one) => one.serial);
    const planted = (trouble: string) => [...truth.values()].find((one) => one.planted === trouble)?.serial;
    expect(outliers('capacity')).toEqual([planted('weak')]);
    expect(outliers('resistance/10s')).toEqual([planted('resistive')]);
    expect(findWarningSigns(test.context, 1).map((sign) => [sign.serial, sign.code])).toEqual([
      [planted('drifting'), 'voltage-drift'],
    ]);
  });
});
