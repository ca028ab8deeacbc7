import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { andersonDarling } from '../../fitting/statistics/andersonDarling.ts';
import { capabilityOf } from '../../fitting/statistics/capability.ts';
import {
  type ControlChartConstants,
  controlChartConstants,
  individualsChart,
} from '../../fitting/statistics/controlChart.ts';
import { chiSquareQuantile, normalQuantile } from '../../fitting/statistics/distributions.ts';
import { grubbsCritical, grubbsTest } from '../../fitting/statistics/grubbs.ts';
import { pooledDeviation } from '../../fitting/statistics/repeatability.ts';
import { mean, standardDeviation } from '../../fitting/statistics/sample.ts';
import {
  howeToleranceFactor,
  oneSidedToleranceFactor,
  twoSidedToleranceFactor,
} from '../../fitting/statistics/toleranceFactor.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const absent = sharedIsMissing('reference/statistics_reference.json');
const reference = absent
  ? null
  : JSON.parse(readFileSync(sharedPath('reference/statistics_reference.json'), 'utf8'));
const uranium = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];

describe('Grubbs, uranium isotope (NIST/SEMATECH e-Handbook 1.3.5.17.1)', () => {
  it('gives mean, deviation, statistic and critical values', () => {
    expect(mean(uranium)).toBeCloseTo(206.43375, 10);
    expect(standardDeviation(uranium)).toBeCloseTo(15.852564, 6);
    const [first] = grubbsTest(uranium, { side: 'high' });
    expect(first.statistic).toBeCloseTo(2.468765, 6);
    expect(first.critical).toBeCloseTo(2.031652, 6);
    expect(first).toMatchObject({ index: 7, value: 245.57, isOutlier: true });
    expect(grubbsTest(uranium)[0].critical).toBeCloseTo(2.126645, 6);
  });

  it('repeats on the rest with statistic and critical value of seven readings', () => {
    const steps = grubbsTest(uranium);
    expect(steps).toHaveLength(2);
    expect(steps[1].isOutlier).toBe(false);
    expect(steps[1].critical).toBeCloseTo(grubbsCritical(7, 0.05, 'both'), 12);
  });

  it.each([
    [6, 1.82212],
    [10, 2.176068],
    [15, 2.409038],
    [20, 2.556581],
  ])('one-sided 5 %% critical value for n = %d (ASTM E178 table)', (n, critical) => {
    expect(grubbsCritical(n, 0.05, 'high')).toBeCloseTo(critical, 6);
  });
});

describe('Anderson–Darling on the same readings (recomputed)', () => {
  it('gives A² and its adjusted form with and without the outlier', () => {
    const all = andersonDarling(uranium);
    expect(all.statistic).toBeCloseTo(2.031697, 6);
    expect(all.adjusted).toBeCloseTo(2.293596, 6);
    expect(all.pValue).toBeLessThan(0.001);
    const rest = andersonDarling(uranium.slice(0, 7));
    expect(rest.statistic).toBeCloseTo(0.385709, 6);
    expect(rest.adjusted).toBeCloseTo(0.444747, 6);
    expect(rest.pValue).toBeGreaterThan(0.05);
  });
});

describe('Capability (e-Handbook 6.1.6; values from memory)', () => {
  it('gives Cp, Cpk and k', () => {
    const result = capabilityOf(16, 2, 50, { lower: 8, upper: 20 });
    expect(result.cp).toBeCloseTo(1, 12);
    expect(result.cpk).toBeCloseTo(0.6667, 4);
    expect(result.k).toBeCloseTo(1 / 3, 12);
    expect(result.cpk).toBeCloseTo((result.cp as number) * (1 - (result.k as number)), 12);
  });
});

describe.skipIf(absent)('Control charts (ASTM manual 7 constants; e-Handbook 6.3.2.2)', () => {
  const rows: ControlChartConstants[] = reference?.controlChartConstants ?? [];

  it('holds the constants for n = 2 to 10', () => {
    expect(rows.map((row) => row.n)).toEqual([2, 3, 4, 5, 6, 7, 8, 9, 10]);
  });

  it.each(rows)('constants for n = $n to four decimals', (row) => {
    const ours = controlChartConstants(row.n);
    for (const key of ['d2', 'd3', 'c4', 'A2', 'D3', 'D4', 'A3', 'B3', 'B4'] as const) {
      expect(Math.abs(ours[key] - row[key]), key).toBeLessThan(6e-5);
    }
  });

  it('individuals chart with the printed d2 = 1.128', () => {
    const chart = individualsChart(reference.individualsChart.data, 1.128);
    expect(chart.centre).toBeCloseTo(50.81, 10);
    expect(chart.meanMovingRange).toBeCloseTo(1.877778, 6);
    expect(chart.upper).toBeCloseTo(55.8041, 4);
    expect(chart.lower).toBeCloseTo(45.8159, 4);
    expect(chart.outside).toEqual([]);
  });
});

describe('Tolerance factors (e-Handbook 7.2.6.3: n = 43, coverage 0.90, confidence 0.99)', () => {
  it('gives the quantiles used, and the factor by Howe', () => {
    expect(normalQuantile(0.95)).toBeCloseTo(1.644854, 6);
    expect(chiSquareQuantile(0.01, 42)).toBeCloseTo(23.650095, 6);
    expect(howeToleranceFactor(43, 0.9, 0.99)).toBeCloseTo(2.217316, 6);
  });

  it.each([
    [43, 0.9, 0.99, 1.873954],
    [10, 0.95, 0.95, 2.910963],
    [20, 0.95, 0.95, 2.396002],
    [30, 0.95, 0.95, 2.219838],
  ])('exact one-sided factor for n = %d, coverage %d, confidence %d', (n, coverage, confidence, factor) => {
    expect(oneSidedToleranceFactor(n, coverage, confidence)).toBeCloseTo(factor, 6);
  });

  // From memory: the exact two-sided 0.95/0.95 factors of ISO 16269-6, as printed to four decimals.
  it.each([
    [2, 36.5192],
    [3, 9.7888],
    [5, 5.0769],
    [10, 3.3935],
    [20, 2.7604],
  ])('exact two-sided 0.95/0.95 factor for n = %d', (n, factor) => {
    expect(Math.abs(twoSidedToleranceFactor(n, 0.95, 0.95) - factor)).toBeLessThan(1e-4);
  });
});

describe('Repeatability, wafer resistivity (e-Handbook 2.4.4)', () => {
  it('pools five wafers to 0.102897 ohm·cm on 300 degrees of freedom', () => {
    const squares = [0.48115, 0.69209, 0.48483, 1.21752, 0.30076];
    const pooled = pooledDeviation(squares.map((sumOfSquares) => ({ sumOfSquares, degreesOfFreedom: 60 })));
    expect(pooled.sumOfSquares).toBeCloseTo(3.17635, 5);
    expect(pooled.degreesOfFreedom).toBe(300);
    expect(pooled.standardDeviation).toBeCloseTo(0.102897, 6);
    // ISO 5725-6: 1.96·√2 = 2.77 standard deviations.
    expect(pooled.repeatabilityLimit / pooled.standardDeviation).toBeCloseTo(2.77, 2);
  });
});
