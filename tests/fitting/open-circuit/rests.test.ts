import { describe, expect, it } from 'vitest';
import { relaxationEnd } from '../../../fitting/open-circuit/relaxation.ts';
import { leakageCurrent, restDrift } from '../../../fitting/open-circuit/restDrift.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const times = (count: number, intervalS: number) =>
  Float64Array.from({ length: count }, (_, i) => i * intervalS);

describe('relaxationEnd(timeS, voltageV, resolutionV)', () => {
  it('extrapolates a relaxation within its uncertainty and says how far', () => {
    const normal = normalSource(seededRandom(4));
    const t = times(120, 30);
    let within = 0;
    for (let k = 0; k < 40; k++) {
      const v = t.map(
        (at) => 3.7 + 0.01 * Math.exp(-at / 200) + 0.006 * Math.exp(-at / 1500) + 1e-4 * normal(),
      );
      const end = relaxationEnd(t, v, 0);
      expect(end.extrapolatedV).toBeLessThan(0);
      if (Math.abs((end.ocvV as number) - 3.7) <= 2 * (end.standardUncertaintyV as number)) within++;
    }
    expect(within).toBeGreaterThanOrEqual(36);
  });

  it('has no OCV where the relaxation is slower than the rest', () => {
    const t = times(60, 30);
    const v = t.map((at) => 3.7 + 0.05 * Math.exp(-at / 20_000));
    expect(relaxationEnd(t, v, 0)).toMatchObject({ ocvV: null, reason: 'relaxation-too-slow' });
    expect(relaxationEnd(t.subarray(0, 5), v.subarray(0, 5), 0).reason).toBe('too-few-rows');
  });

  it('takes the last voltage where nothing moves any more', () => {
    const t = times(60, 30);
    const v = t.map(() => 3.812);
    expect(relaxationEnd(t, v, 1e-3)).toMatchObject({ ocvV: 3.812, extrapolatedV: 0, reason: null });
  });
});

describe('restDrift(timeS, voltageV)', () => {
  const day = 86_400;

  it('finds the drift of a resting cell with an uncertainty that holds', () => {
    const normal = normalSource(seededRandom(6));
    const t = times(14 * 24, 3600);
    let within = 0;
    for (let k = 0; k < 100; k++) {
      const v = t.map((at) => 4.1 - (0.17e-3 * at) / day + 0.01 * Math.exp(-at / 7200) + 5e-5 * normal());
      const found = restDrift(t, v);
      const deviation = Math.abs((found.driftMvPerDay as number) + 0.17);
      if (deviation <= 1.96 * (found.standardUncertaintyMvPerDay as number)) within++;
    }
    expect(within).toBeGreaterThanOrEqual(90);
  });

  it('does not claim more than the quantisation allows', () => {
    const t = times(48, 3600);
    const found = restDrift(
      t,
      t.map(() => 3.9),
      { resolutionV: 1e-3 },
    );
    expect(found.driftMvPerDay).toBeCloseTo(0, 9);
    expect(found.standardUncertaintyMvPerDay).toBeGreaterThan(0.05);
  });

  it('gives none for a short rest', () => {
    expect(restDrift(times(100, 10), new Float64Array(100)).reason).toBe('rest-too-short');
    expect(restDrift(times(3, 9000), new Float64Array(3)).reason).toBe('too-few-rows');
  });
});

describe('leakageCurrent(drift, slope, capacity)', () => {
  it('is null on a flat OCV', () => {
    expect(leakageCurrent(-0.2, 0, 2.5)).toBeNull();
  });
});
