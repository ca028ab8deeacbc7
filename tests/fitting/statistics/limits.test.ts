import { describe, expect, it } from 'vitest';
import { capability } from '../../../fitting/statistics/capability.ts';
import {
  controlChartConstants,
  individualsChart,
  rangeDivisor,
} from '../../../fitting/statistics/controlChart.ts';
import { normalProbability } from '../../../fitting/statistics/distributions.ts';
import { gaugeByRange, gaugeByVariance } from '../../../fitting/statistics/gaugeStudy.ts';
import { noncentralTProbability, noncentralTQuantile } from '../../../fitting/statistics/noncentralT.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { mean, standardDeviation } from '../../../fitting/statistics/sample.ts';
import {
  howeToleranceFactor,
  oneSidedToleranceFactor,
  twoSidedToleranceFactor,
} from '../../../fitting/statistics/toleranceFactor.ts';
import { findPython, runPython } from '../../support/python.ts';
import { isMissing } from '../../support/required.ts';

const python = findPython('scipy');
const withoutSciPy = isMissing('SciPy', python !== null, 'apt-get install python3-scipy');

describe('capability', () => {
  const values = [9.8, 10.1, 10, 10.2, 9.9, 10.4, 9.7, 10.1];

  it('of a one-sided specification has Cpk but no Cp', () => {
    const result = capability(values, { lower: null, upper: 11 });
    expect(result).toMatchObject({ cp: null, k: null, cpInterval: null, reason: 'one-sided' });
    expect(result.cpk).toBeCloseTo((11 - mean(values)) / (3 * standardDeviation(values)), 12);
  });

  it('is negative where the mean lies outside, and counts what is outside', () => {
    const result = capability(values, { lower: 10.15, upper: 12 });
    expect(result.cpk).toBeLessThan(0);
    expect(result.outside).toBe(6);
  });

  it('intervals hold the true values about as often as they say', () => {
    const normal = normalSource(seededRandom(5));
    const hits = [0, 0];
    for (let round = 0; round < 1000; round++) {
      const result = capability(Array.from({ length: 30 }, normal), { lower: -4, upper: 3.6 });
      const truth = [7.6 / 6, 3.6 / 3];
      [result.cpInterval, result.cpkInterval].forEach((interval, i) => {
        if (interval && interval[0] <= truth[i] && truth[i] <= interval[1]) hits[i]++;
      });
    }
    for (const hit of hits) {
      expect(hit / 1000).toBeGreaterThan(0.925);
      expect(hit / 1000).toBeLessThan(0.975);
    }
  });

  it('says when there is no spread, and names bad limits', () => {
    expect(capability([2, 2], { lower: 1, upper: 3 })).toMatchObject({
      cp: null,
      cpk: null,
      reason: 'no-spread',
    });
    expect(() => capability(values, { lower: null, upper: null })).toThrow(/lower or upper/);
    expect(() => capability(values, { lower: 3, upper: 1 })).toThrow(/lower \(3\) must be below upper \(1\)/);
  });
});

describe('tolerance factors', () => {
  it('exact two-sided and one-sided limits hold their coverage with their confidence (simulation, n = 8)', () => {
    const normal = normalSource(seededRandom(11));
    const [two, one] = [twoSidedToleranceFactor(8, 0.9, 0.95), oneSidedToleranceFactor(8, 0.9, 0.95)];
    const rounds = 4000;
    const hits = [0, 0];
    for (let round = 0; round < rounds; round++) {
      const values = Array.from({ length: 8 }, normal);
      const [centre, s] = [mean(values), standardDeviation(values)];
      if (normalProbability(centre + two * s) - normalProbability(centre - two * s) >= 0.9) hits[0]++;
      if (normalProbability(centre + one * s) >= 0.9) hits[1]++;
    }
    for (const hit of hits) expect(Math.abs(hit / rounds - 0.95)).toBeLessThan(0.012);
  });

  it('two-sided is above one-sided, falls with n, and Howe comes within 2 %', () => {
    let last = Infinity;
    for (const n of [4, 8, 15, 40, 200]) {
      const two = twoSidedToleranceFactor(n, 0.95, 0.95);
      expect(two).toBeLessThan(last);
      expect(two).toBeGreaterThan(oneSidedToleranceFactor(n, 0.95, 0.95));
      expect(howeToleranceFactor(n, 0.95, 0.95) / two).toBeGreaterThan(0.98);
      last = two;
    }
  });

  it('names bad input', () => {
    expect(() => twoSidedToleranceFactor(1, 0.9, 0.9)).toThrow(/n must be/);
    expect(() => oneSidedToleranceFactor(5, 95, 0.9)).toThrow(/coverage/);
    expect(() => howeToleranceFactor(5, 0.9, 1)).toThrow(/confidence/);
  });
});

describe('noncentral t', () => {
  it('quantile undoes the probability', () => {
    for (const [p, degrees, delta] of [
      [0.95, 9, 5.2],
      [0.01, 3, 1],
      [0.5, 42, 10],
    ]) {
      const t = noncentralTQuantile(p, degrees, delta);
      expect(noncentralTProbability(t, degrees, delta)).toBeCloseTo(p, 10);
    }
  });

  it.skipIf(withoutSciPy)('agrees with SciPy to 10 digits, in the tails too', () => {
    const points = [1, 2, 5, 9, 42, 400].flatMap((degrees) =>
      [0, 0.5, 3, 12, 30].flatMap((delta) =>
        [-1, 0, 0.9, 1, 1.2].map((f) => [f * delta + f, degrees, delta]),
      ),
    );
    const expected = runPython(
      python as string,
      'import sys,json\nfrom scipy.stats import nct\nv = [float(nct.cdf(*p)) for p in json.load(sys.stdin)]\nprint(json.dumps([x if x == x else None for x in v]))',
      points,
    ) as (number | null)[];
    // SciPy itself has no value for some far tails.
    expect(expected.filter((value) => value !== null).length).toBeGreaterThan(120);
    points.forEach(([t, degrees, delta], i) => {
      const value = expected[i];
      if (value === null) return;
      expect(Math.abs(noncentralTProbability(t, degrees, delta) - value), `${points[i]}`).toBeLessThan(1e-10);
    });
  });
});

describe('control charts', () => {
  it('constants of the pair are known exactly: d2 = 2/√π, c4 = √(2/π), and d2* of one pair is √2', () => {
    const { d2, c4, d3 } = controlChartConstants(2);
    expect(d2).toBeCloseTo(2 / Math.sqrt(Math.PI), 10);
    expect(d3).toBeCloseTo(Math.sqrt(2 - 4 / Math.PI), 9);
    expect(c4).toBeCloseTo(Math.sqrt(2 / Math.PI), 12);
    expect(rangeDivisor(2, 1)).toBeCloseTo(Math.SQRT2, 9);
  });

  it('an individuals chart names the points outside', () => {
    expect(individualsChart([5, 5.1, 4.9, 5, 5.1, 9, 5, 4.9, 5.1, 5]).outside).toEqual([5]);
    expect(() => controlChartConstants(1)).toThrow(/n must be/);
  });
});

describe('gauge study', () => {
  it('both methods recover the components that made the readings', () => {
    const normal = normalSource(seededRandom(21));
    const operators = Array.from({ length: 6 }, () => 0.5 * normal());
    const readings = Array.from({ length: 60 }, () => {
      const part = 2 * normal();
      return operators.map((operator) => [0, 1, 2].map(() => part + operator + 0.3 * normal()));
    });
    for (const study of [
      gaugeByVariance(readings, { tolerance: 12 }),
      gaugeByRange(readings, { tolerance: 12 }),
    ]) {
      expect(study.repeatability).toBeGreaterThan(0.28);
      expect(study.repeatability).toBeLessThan(0.32);
      expect(study.reproducibility).toBeCloseTo(standardDeviation(operators), 0.6);
      expect(study.gaugeToTolerance).toBeCloseTo((6 * study.gauge) / 12, 12);
    }
    expect(gaugeByVariance(readings).parts).toBeGreaterThan(1.6);
    expect(gaugeByVariance(readings).parts).toBeLessThan(2.4);
  });

  it('counts a real interaction as reproducibility', () => {
    const normal = normalSource(seededRandom(4));
    const readings = Array.from({ length: 12 }, () => {
      const part = normal();
      return [0, 1, 2].map(() => {
        const together = 0.6 * normal();
        return [0, 1, 2].map(() => part + together + 0.1 * normal());
      });
    });
    const study = gaugeByVariance(readings);
    expect(study.pooled).toBe(false);
    expect(study.reproducibility).toBeGreaterThan(0.4);
    expect(study.repeatability).toBeLessThan(0.15);
  });

  it('keeps an interaction beside readings that repeat exactly, although it has no F', () => {
    // Two operators disagree about the second part alone, and each repeats himself exactly.
    const readings = [1, 2, 3].map((part) =>
      [0, 1].map((who) => [part, part].map((v) => v + (part === 2 ? who : 0))),
    );
    const study = gaugeByVariance(readings);
    expect(study.pooled).toBe(false);
    expect(study.repeatability).toBe(0);
    expect(study.reproducibility).toBeGreaterThan(0);
    expect(study.table.find(({ source }) => source === 'interaction')).toMatchObject({
      f: null,
      pValue: null,
    });
  });
});
