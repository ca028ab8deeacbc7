import { describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { arrangeReadings, judgeGauge } from '../../../server/assess/lots/judgeGauge.ts';

const TRIES = 600;
const REPEATABILITY = 0.3;

/** Cells of standard deviation 1 about 20, the first of which are read again and again. */
function lot(seed: number, repeated: number, trials: number, single: number) {
  const normal = normalSource(seededRandom(seed));
  const cells = Array.from({ length: repeated + single }, () => 20 + normal());
  const read = (cell: number): number => cells[cell] + REPEATABILITY * normal();
  const readings = Array.from({ length: repeated }, (_, cell) =>
    Array.from({ length: trials }, () => ({
      cellId: cell,
      serial: `C${cell}`,
      value: read(cell),
      operator: null,
    })),
  );
  const singles = Array.from({ length: single }, (_, k) => read(repeated + k));
  return { readings: readings.flat(), present: [...readings.map((own) => own[0].value), ...singles] };
}

describe('intervals of a gauge study', () => {
  it.each([
    ['the cells of the study', 5, 3, 0],
    ['the whole lot', 5, 2, 40],
  ])(
    'hold repeatability and its ratio to the spread of %s as often as they say',
    (_, repeated, trials, single) => {
      const truth = REPEATABILITY / Math.hypot(1, REPEATABILITY);
      let [deviations, ratios] = [0, 0];
      for (let seed = 1; seed <= TRIES; seed++) {
        const { readings, present } = lot(seed, repeated, trials, single);
        const { repeatabilityInterval: own, ratioInterval } = judgeGauge(arrangeReadings(readings), present);
        if (own !== null && own.low <= REPEATABILITY && REPEATABILITY <= own.high) deviations++;
        if (ratioInterval !== null && ratioInterval.low <= truth && truth <= ratioInterval.high) ratios++;
      }
      // Four standard deviations of 600 tries of 95 % are 3.6 of 100.
      for (const count of [deviations, ratios]) {
        expect(count / TRIES).toBeGreaterThan(0.914);
        expect(count / TRIES).toBeLessThan(0.986);
      }
    },
  );
});
