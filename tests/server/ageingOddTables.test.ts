import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateAgeingFile } from '../../server/commands/evaluateAgeing.ts';
import { RefusedFile } from '../../server/import/refusedFile.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-odd-tables-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** 2.5 Ah that fall in a straight line to 80 % at 1,000 cycles, with 3 mAh of scatter. */
function line(cycle: number, normal: () => number): number {
  return 2.5 * (1 - (0.2 * cycle) / 1000) + 0.003 * normal();
}

async function evaluate(name: string, last: number, change: (cycle: number, value: number) => number) {
  const normal = normalSource(seededRandom(11));
  const rows = Array.from(
    { length: last },
    (_, k) => `${k + 1},${change(k + 1, line(k + 1, normal)).toFixed(5)}`,
  );
  const file = join(folder, `${name}.csv`);
  writeFileSync(file, ['cycle,capacity_Ah', ...rows, ''].join('\n'));
  return evaluateAgeingFile(file, { lotPrior: true });
}

const codes = (result: Awaited<ReturnType<typeof evaluate>>): string[] =>
  result.warnings.map(({ code }) => code);

describe('cycle tables as benches write them', () => {
  it('a chamber that cools late in life is not a knee: the forecast goes on from the new level, and says so', async () => {
    const result = await evaluate('late-step', 599, (cycle, value) => (cycle < 560 ? value : 0.92 * value));
    expect(codes(result)).toContain('level-step');
    const [{ limits, series, knee }] = result.cells;
    expect(knee.at).toBeNull();
    expect(series.fittedFrom).toBe(560);
    // 0.92 of the line meets 80 % of the first value, 2 Ah, at 652 cycles.
    const { low, value, high } = limits[0].forecast;
    expect(low ?? Infinity).toBeLessThan(652);
    expect(high ?? 0).toBeGreaterThan(652);
    expect(Math.abs((value ?? 0) / 652 - 1)).toBeLessThan(0.05);
  });

  it('a knee is not a step of the level', async () => {
    const result = await evaluate('knee', 599, (cycle, value) => value - Math.max(cycle - 560, 0) * 0.008);
    expect(codes(result)).not.toContain('level-step');
    expect(result.cells[0].knee.at).toBeCloseTo(560, -1);
  });

  it('check-ups at another rate do not set the first value that the limits refer to', async () => {
    const result = await evaluate('check-ups', 599, (cycle, value) =>
      cycle % 100 === 1 ? 1.03 * value : value,
    );
    const [{ limits, series }] = result.cells;
    expect(series.leftOut.map(({ x }) => x)).toEqual([1, 101, 201, 301, 401, 501]);
    expect(series.firstMeasured ?? 0).toBeCloseTo(2.5, 1);
    const { low, high } = limits[0].forecast;
    expect(low ?? Infinity).toBeLessThan(1000);
    expect(high ?? 0).toBeGreaterThan(1000);
  });

  it('a fade that accelerates smoothly has no knee', async () => {
    const result = await evaluate(
      'smooth',
      599,
      (cycle, value) => value + (0.5 * cycle) / 1000 - 0.5 * (cycle / 1000) ** 1.6,
    );
    expect(result.cells[0].knee).toMatchObject({ at: null, reason: 'smooth-acceleration' });
  });

  it('mAh in a column of Ah are refused, and recognised where the header states no unit', async () => {
    const file = join(folder, 'unit.csv');
    const table = (header: string): string =>
      `cycle,${header}\n${Array.from({ length: 60 }, (_, k) => `${10 * k},${(2500 - k).toFixed(1)}`).join('\n')}\n`;
    writeFileSync(file, table('capacity_Ah'));
    await expect(evaluateAgeingFile(file, { lotPrior: true })).rejects.toMatchObject({
      refusal: { code: 'unknown-unit', row: 2, column: 'capacity_Ah' },
    });
    writeFileSync(file, table('capacity'));
    const result = await evaluateAgeingFile(file, { lotPrior: true });
    expect(result.cells[0].series.firstMeasured).toBeCloseTo(2.5, 6);
  });

  it('a cell that gives 0 Ah to the end has failed, and is not forecast as if it were alive', async () => {
    const result = await evaluate('dead', 599, (cycle, value) => (cycle < 500 ? value : 0));
    expect(codes(result)).toContain('failed-cell');
    expect(result.cells[0].limits[0]).toMatchObject({
      crossedAt: 500,
      crossedBetween: { low: 499, high: 500 },
    });
  });

  it.each([1.1, 1.95])(
    'a last cycle broken off at %d Ah decides neither model nor forecast',
    async (left) => {
      const result = await evaluate(`last-${left}`, 500, (cycle, value) => (cycle < 500 ? value : left));
      const [{ chosen, series, models, limits }] = result.cells;
      expect(chosen).toBe('linear');
      expect(series.leftOut).toMatchObject([{ x: 500, reason: 'spike' }]);
      expect(models.find(({ name }) => name === chosen)?.residualChecks?.verdict).toBe('no-pattern');
      expect(limits[0].forecast.high ?? 0).toBeGreaterThan(1000);
    },
  );

  it('a column that goes over from Ah to mAh is refused at the row where it does', async () => {
    const changed = evaluate('units', 599, (cycle, value) => (cycle <= 300 ? value : 1000 * value));
    await expect(changed).rejects.toThrow(RefusedFile);
    await expect(changed).rejects.toThrow(/row 302, column "capacity_Ah".*changes its unit/);
  });
});
