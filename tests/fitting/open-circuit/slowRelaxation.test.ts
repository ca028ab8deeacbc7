import { describe, expect, it } from 'vitest';
import { type RestAfterLoad, slowRelaxation } from '../../../fitting/open-circuit/slowRelaxation.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

interface Process {
  readonly ohm: number;
  readonly tauS: number;
}

/** Rests of an hour after 1,200 s at −10 A, from branches that are followed exactly through loads and rests, in steps of 1 mV. */
function rests(processes: readonly Process[], count: number, noiseV: number): RestAfterLoad[] {
  const normal = normalSource(seededRandom(7));
  const state = processes.map(() => 0);
  return Array.from({ length: count }, (_, k) => {
    processes.forEach(({ ohm, tauS }, j) => {
      state[j] = -10 * ohm + (state[j] + 10 * ohm) * Math.exp(-1200 / tauS);
    });
    const timeS = Float64Array.from({ length: 60 }, (__, i) => 60 * (i + 1));
    const voltageV = timeS.map((t) => {
      const left = processes.reduce((sum, { tauS }, j) => sum + state[j] * Math.exp(-t / tauS), 0);
      return Math.round((3.9 - 0.03 * k + left + noiseV * normal()) * 1000) / 1000;
    });
    processes.forEach(({ tauS }, j) => {
      state[j] *= Math.exp(-3600 / tauS);
    });
    return { timeS, voltageV, currentA: -10, loadS: 1200, sinceBeforeS: k === 0 ? null : 3600 };
  });
}

describe('the slow processes that the rests after long loads show', () => {
  it('are two where the relaxation holds two, with the resistances that built them up', () => {
    const terms = slowRelaxation(
      rests(
        [
          { ohm: 1.5e-3, tauS: 170 },
          { ohm: 1e-3, tauS: 1300 },
        ],
        6,
        2e-4,
      ),
      3.5e-4,
    );
    expect(terms).toHaveLength(2);
    for (const [j, { ohm, tauS }] of [
      { ohm: 1.5e-3, tauS: 170 },
      { ohm: 1e-3, tauS: 1300 },
    ].entries()) {
      expect(Math.abs(terms[j].tauS / tauS - 1)).toBeLessThan(0.2);
      for (const one of terms[j].resistanceOhm) expect(Math.abs(one / ohm - 1)).toBeLessThan(0.2);
    }
  });

  it('are one where it holds one, and none where the voltage stays', () => {
    const one = slowRelaxation(rests([{ ohm: 1.2e-3, tauS: 500 }], 6, 2e-4), 3.5e-4);
    expect(one).toHaveLength(1);
    expect(Math.abs(one[0].tauS / 500 - 1)).toBeLessThan(0.1);
    for (const ohm of one[0].resistanceOhm) expect(Math.abs(ohm / 1.2e-3 - 1)).toBeLessThan(0.1);
    expect(slowRelaxation(rests([], 4, 2e-4), 3.5e-4)).toEqual([]);
    expect(slowRelaxation([], 3.5e-4)).toEqual([]);
  });
});
