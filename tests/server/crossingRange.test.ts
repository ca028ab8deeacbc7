import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateAgeingFile } from '../../server/commands/evaluateAgeing.ts';
import { tellAgeing } from '../../server/commands/tellAgeing.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-crossing-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const lives = Array.from({ length: 50 }, (_, k) => 400 + 7.3 * k);

/** Cells whose capacity falls in a straight line and meets 2.0 Ah at their life; rows every `step` cycles. */
function table(step: number, noiseAh: number): string {
  const normal = normalSource(seededRandom(11));
  const rows = lives.flatMap((life, k) =>
    Array.from({ length: Math.ceil(1.3 * (life / step)) }, (_, i) => {
      const capacity = 2.5 - (0.5 * i * step) / life + noiseAh * normal();
      return `C${k},${i * step},${capacity.toFixed(5)}`;
    }),
  );
  return ['cell,cycle,capacity (Ah)', ...rows].join('\n');
}

describe('a limit that was crossed', () => {
  it.each([
    { step: 20, noiseAh: 0.0005 },
    { step: 20, noiseAh: 0.01 },
    { step: 10, noiseAh: 0.004 },
    { step: 4, noiseAh: 0.02 },
  ])(
    'lies within its stated range: rows $step cycles apart, noise $noiseAh Ah',
    async ({ step, noiseAh }) => {
      const path = join(folder, 'cycles.csv');
      writeFileSync(path, table(step, noiseAh));
      const result = await evaluateAgeingFile(path, { lotPrior: false, endOfLife: ['2Ah'] });
      const ranges = result.cells.map(({ limits: [limit] }) => limit.crossedBetween);
      const covered = ranges.filter(
        (range, k) => range != null && (range.low ?? 0) <= lives[k] && range.high >= lives[k],
      );
      expect(covered.length).toBeGreaterThanOrEqual(0.92 * lives.length);
      // As narrow as spacing and noise allow: the noise over the slope to either side, and one spacing.
      const width = ranges.map((range) => (range?.high ?? 0) - (range?.low ?? 0));
      for (const [k, one] of width.entries()) {
        expect(one).toBeGreaterThan(0);
        expect(one).toBeLessThan(4 * step + (14 * noiseAh * lives[k]) / 0.5);
      }
      expect(tellAgeing(result)).toMatch(/capacity 2 Ah: reached at \d+ \(between \d+ and \d+\)/);
    },
  );
});
