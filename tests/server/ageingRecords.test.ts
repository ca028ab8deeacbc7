import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateAgeingFile } from '../../server/commands/evaluateAgeing.ts';
import { tellAgeing } from '../../server/commands/tellAgeing.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-ageing-records-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let files = 0;
const plain = { lotPrior: true } as const;

/** Writes a table and evaluates it as the command does. */
async function evaluate(
  header: string,
  lines: readonly string[],
  options: Partial<Parameters<typeof evaluateAgeingFile>[1]> = {},
) {
  const path = join(folder, `t${files++}.csv`);
  writeFileSync(path, [header, ...lines].join('\n'));
  return evaluateAgeingFile(path, { ...plain, ...options });
}

/** Capacity of 2.5 Ah that falls by 20 % in 1,000 cycles, with 1 mAh of noise. */
function straight(until: number, seed = 1): number[] {
  const normal = normalSource(seededRandom(seed));
  return Array.from({ length: until }, (_, i) => 2.5 - 0.0005 * (i + 1) + 1e-3 * normal());
}
const numbered = (values: readonly number[], cell = 'A'): string[] =>
  values.map((value, i) => `${cell},${i + 1},${value.toFixed(5)}`);
const header = 'cell_id,cycle,capacity_Ah';

describe('ageing tables as benches write them', () => {
  it('do not take a first value that the next ones contradict for the start of life', async () => {
    const values = straight(800);
    values[0] = 1.0;
    const result = await evaluate(header, numbered(values));
    const [cell] = result.cells;
    expect(cell.series.firstMeasured ?? 0).toBeCloseTo(2.5, 2);
    expect(cell.series.leftOut).toContainEqual({
      index: 0,
      x: 1,
      value: 1,
      reason: 'unrepresentative-start',
    });
    expect(result.warnings).toContainEqual({ code: 'unrepresentative-start', cell: 'A', count: 1 });
    const { low, high, bendAhead } = cell.limits[0].forecast;
    expect(low ?? Infinity).toBeLessThan(1000);
    expect(high ?? 0).toBeGreaterThan(1000);
    expect(high ?? Infinity).toBeLessThan(1200);
    // What no data announce is said beside the number.
    expect(bendAhead ?? 0).toBeGreaterThan(0.1);
    expect(bendAhead ?? 1).toBeLessThan(0.3);
    expect(tellAgeing(result)).toContain(
      `no data announce a further bend; the interval allows for one (${(100 * (bendAhead ?? 0)).toFixed(0)} %)`,
    );
  });

  it('are refused where the cycle numbers of a cell start again, and continued or averaged by choice', async () => {
    const values = straight(900);
    const again = values.map((value, i) => `A,${i < 500 ? i + 1 : i - 499},${value.toFixed(5)}`);
    await expect(evaluate(header, again)).rejects.toMatchObject({
      refusal: { code: 'ages-start-again', row: 502, column: 'cycle', value: '1' },
    });
    const whole = await evaluate(header, numbered(values));
    const continued = await evaluate(header, again, { numbering: 'continue' });
    expect(continued.cells[0].series.x).toEqual(whole.cells[0].series.x);
    expect(continued.cells[0].limits).toEqual(whole.cells[0].limits);
    const averaged = await evaluate(header, again, { numbering: 'average' });
    expect(averaged.cells[0].series.x).toHaveLength(500);
    // Rows in another order are not a numbering that starts again; nor is one block for each quantity.
    const backwards = await evaluate(header, numbered(values).reverse());
    expect(backwards.cells[0].limits).toEqual(whole.cells[0].limits);
    const blocks = [
      ...values.slice(0, 60).map((value, i) => `A,${i + 1},${value.toFixed(5)},`),
      ...values.slice(0, 60).map((_, i) => `A,${i + 1},,${0.03 + 1e-5 * i}`),
    ];
    const two = await evaluate(`${header},resistance_ohm`, blocks);
    expect(two.cells[0].series.x).toHaveLength(60);
  });

  it('do not let rows that are left out as outliers end a life', async () => {
    const values = straight(1300);
    for (let i = 600; i < 604; i++) values[i] = 1.9;
    const { crossedAt, firstDipAt, threshold } = (await evaluate(header, numbered(values))).cells[0]
      .limits[0];
    expect(threshold ?? 0).toBeCloseTo(2, 2);
    expect(firstDipAt).toBe(601);
    expect(Math.abs((crossedAt ?? 0) - 1000)).toBeLessThan(12);
  });

  it('take a lasting drop for the end of a life, and a single low row not', async () => {
    const values = straight(700);
    const dead = await evaluate(header, numbered([...values, ...Array(100).fill(0.1)]));
    expect(dead.cells[0].limits[0]).toMatchObject({
      crossedAt: 701,
      forecast: { reason: 'already-crossed' },
    });
    expect(dead.warnings).toContainEqual({ code: 'failed-cell', cell: 'A', count: 100 });
    expect(tellAgeing(dead)).toContain('reached at 701');
    const one = await evaluate(header, numbered([...values, 0.1]));
    expect(one.cells[0].limits[0].crossedAt).toBeNull();
    expect(one.warnings).toContainEqual({ code: 'low-rows-at-the-end', cell: 'A', count: 1 });
    // A run that was broken off in mid-life and comes back ends nothing.
    const back = await evaluate(
      header,
      numbered([...values.slice(0, 300), ...Array(20).fill(0.1), ...values.slice(320)]),
    );
    expect(back.cells[0].limits[0].crossedAt).toBeNull();
  });

  it('continue the law of a knee that is past, of capacity and of resistance alike', async () => {
    const truth = 800;
    // 5 % of the way in 600 cycles, the rest in 200; the resistance doubles at the same cycle.
    const gone = (n: number): number => (n < 600 ? n / 2400 : 0.25 + (0.75 * (n - 600)) / 200);
    const held = { capacity: 0, resistance: 0 };
    const seeds = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
    for (const seed of seeds) {
      const normal = normalSource(seededRandom(seed));
      const lines = Array.from({ length: 140 }, (_, i) => {
        const n = 5 * (i + 1);
        const capacity = 2.5 * (1 - 0.2 * gone(n)) + 4e-3 * normal();
        const resistance = 0.03 * (1 + gone(n)) + 1.5e-4 * normal();
        return `A,${n},${capacity.toFixed(4)},${resistance.toFixed(6)}`;
      });
      const [cell] = (await evaluate(`${header},resistance_ohm`, lines, { ratedCapacity: 2.5 })).cells;
      for (const { quantity, basis, forecast } of cell.limits) {
        if (quantity === 'capacity' && basis !== 'of-rated') continue;
        expect(Math.abs((forecast.value ?? 0) / truth - 1), `${quantity} ${seed}`).toBeLessThan(0.04);
        expect(forecast.low ?? 0).toBeGreaterThanOrEqual(700);
        expect((forecast.high ?? Infinity) - (forecast.low ?? 0)).toBeLessThan(0.15 * truth);
        if ((forecast.low ?? Infinity) <= truth && truth <= (forecast.high ?? 0)) held[quantity]++;
      }
    }
    // An 80 % interval holds in at least six of ten with a probability of 97 %.
    expect(held.capacity).toBeGreaterThanOrEqual(6);
    expect(held.resistance).toBeGreaterThanOrEqual(6);
  });

  it('of few check-ups give an interval that allows for a bend', async () => {
    let held = 0;
    for (const count of [5, 6, 7, 8, 10]) {
      const normal = normalSource(seededRandom(count));
      const lines = Array.from({ length: count }, (_, i) => {
        const n = 100 * (i + 1);
        return `A,${n},${(2.5 * (1 - 0.00016 * n) + 2e-3 * normal()).toFixed(4)}`;
      });
      const [cell] = (await evaluate(header, lines, { ratedCapacity: 2.5 })).cells;
      const { low, high, bendAhead } = cell.limits[0].forecast;
      expect(low ?? 0).toBeGreaterThanOrEqual(100 * count);
      expect(low ?? Infinity, `${count}`).toBeLessThan(0.97 * 1250);
      // The line's own crossing lies near the upper end: some cells bend on the way, none bends back.
      expect(high ?? 0, `${count}`).toBeGreaterThan(0.97 * 1250);
      if ((high ?? 0) > 1250) held++;
      expect(bendAhead ?? 0).toBeGreaterThan(0.1);
    }
    expect(held).toBeGreaterThanOrEqual(3);
  });

  it('never give an interval that reaches below the last measured cycle', async () => {
    for (const until of [6, 60, 985, 996]) {
      for (const seed of [1, 2]) {
        const result = await evaluate(header, numbered(straight(until, seed)));
        for (const { crossedAt, forecast } of result.cells[0].limits) {
          if (crossedAt !== null) continue;
          const ends = [forecast.low, forecast.value, ...forecast.intervals.map(({ low }) => low)];
          for (const end of ends) expect(end ?? Infinity).toBeGreaterThanOrEqual(until);
        }
      }
    }
  });

  it('draw experience only from cells under the same stated conditions', async () => {
    const life = (
      cell: string,
      until: number,
      slope: number,
      temperature: number,
      seed: number,
    ): string[] => {
      const normal = normalSource(seededRandom(seed));
      return Array.from({ length: until }, (_, i) => {
        const value = 2.5 - slope * (i + 1) + 1e-3 * normal();
        return `${cell},${i + 1},${value.toFixed(5)},${temperature}`;
      });
    };
    const warm = [1, 2, 3, 4, 5, 6].flatMap((k) => life(`W${k}`, 220, 0.0025 + 1e-5 * k, 45, k));
    const cold = [1, 2, 3, 4, 5, 6].flatMap((k) => life(`C${k}`, 420, 0.0013 + 1e-5 * k, 25, 20 + k));
    const lines = [...warm, ...cold, ...life('young', 250, 0.0013, 25, 50)];
    const result = await evaluate(`${header},ambient_temperature_C`, lines);
    const young = result.cells.find(({ cell }) => cell === 'young')?.limits[0].forecast;
    expect(young?.priorCells).toEqual(['C1', 'C2', 'C3', 'C4', 'C5', 'C6']);
    expect(young?.priorConditions).toEqual(['ambient_temperature_C']);
    // Without the column the command says that it cannot tell.
    const blind = await evaluate(
      header,
      lines.map((line) => line.split(',').slice(0, 3).join(',')),
    );
    expect(blind.warnings).toContainEqual({ code: 'conditions-not-stated', cell: null, count: 1 });
    // A cell alone under its conditions has no comparable ones, and says so.
    const alone = await evaluate(`${header},ambient_temperature_C`, [
      ...warm,
      ...life('young', 250, 0.0013, 25, 50),
    ]);
    expect(alone.warnings).toContainEqual({ code: 'no-comparable-cells', cell: 'young', count: 1 });
    expect(alone.cells.at(-1)?.limits[0].forecast.method).toBe('model-average');
  });
});

const capacities = 'datasets/nasa-pcoe/discharge_capacity.csv';
describe.skipIf(sharedIsMissing(capacities))('sixteen unlike cells of one laboratory', () => {
  it('are not taken for one bench that restarted, and lean on none that was cycled otherwise', async () => {
    const result = await evaluateAgeingFile(sharedPath(capacities), { ...plain, ratedCapacity: 2 });
    expect(result.warnings.some(({ code }) => code === 'restart-of-the-bench')).toBe(false);
    for (const { series, limits } of result.cells) {
      expect(series.leftOut.some(({ reason }) => reason === 'restart')).toBe(false);
      for (const { forecast } of limits) {
        expect(forecast.priorCells).toEqual([]);
        for (const end of [forecast.low, forecast.value])
          expect(end ?? Infinity).toBeGreaterThanOrEqual(series.x.at(-1) ?? 0);
      }
    }
  });
});
