import { describe, expect, it } from 'vitest';
import { gaugeByRange, gaugeByVariance } from '../../fitting/statistics/gaugeStudy.ts';

// Source: AIAG, Measurement Systems Analysis, 4th ed., chapter III (10 parts, 3 appraisers, 3 trials).
// Readings and results from memory: the printed sums of squares, which depend on all 90 readings, confirm
// them.
const byAppraiser = [
  [
    [0.29, -0.56, 1.34, 0.47, -0.8, 0.02, 0.59, -0.31, 2.26, -1.36],
    [0.41, -0.68, 1.17, 0.5, -0.92, -0.11, 0.75, -0.2, 1.99, -1.25],
    [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
  ],
  [
    [0.08, -0.47, 1.19, 0.01, -0.56, -0.2, 0.47, -0.63, 1.8, -1.68],
    [0.25, -1.22, 0.94, 1.03, -1.2, 0.22, 0.55, 0.08, 2.12, -1.62],
    [0.07, -0.68, 1.34, 0.2, -1.28, 0.06, 0.83, -0.34, 2.19, -1.5],
  ],
  [
    [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
    [-0.11, -1.13, 1.09, 0.2, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
    [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
  ],
];
const readings = byAppraiser[0][0].map((_, part) =>
  byAppraiser.map((trials) => trials.map((trial) => trial[part])),
);

describe('Gauge study of the measurement systems manual', () => {
  it('gives the table of the variance analysis', () => {
    const { table } = gaugeByVariance(readings);
    const sums = Object.fromEntries(table.map((row) => [row.source, row.sumOfSquares]));
    expect(sums.parts).toBeCloseTo(88.3619, 4);
    expect(sums.operators).toBeCloseTo(3.1673, 4);
    expect(sums.interaction).toBeCloseTo(0.359, 4);
    expect(sums.repeatability).toBeCloseTo(2.7589, 4);
    expect(sums.total).toBeCloseTo(94.6471, 4);
    expect(table.map((row) => row.degrees)).toEqual([9, 2, 18, 60, 89]);
  });

  it('joins the interaction to the repeatability and gives the components', () => {
    const study = gaugeByVariance(readings);
    expect(study.pooled).toBe(true);
    expect(study.table[2].f?.toFixed(3)).toBe('0.434');
    expect(study.repeatability).toBeCloseTo(0.199933, 6);
    expect(study.reproducibility).toBeCloseTo(0.226838, 6);
    expect(study.gauge).toBeCloseTo(0.302373, 5);
    expect(study.parts).toBeCloseTo(1.042327, 6);
  });

  it('gives the same components to the printed digits by averages and ranges', () => {
    const study = gaugeByRange(readings);
    expect(study.meanRange).toBeCloseTo(0.3417, 4);
    expect(study.operatorDifference).toBeCloseTo(0.4447, 3);
    expect(study.repeatability).toBeCloseTo(0.20188, 4);
    expect(study.reproducibility).toBeCloseTo(0.22963, 3);
    expect(study.gauge).toBeCloseTo(0.30575, 3);
    expect(study.parts).toBeCloseTo(1.1046, 3);
    expect(study.gaugeShare).toBeCloseTo(0.2668, 3);
    expect(study.distinctCategories).toBe(5);
  });

  it('finds nothing but parts where every reading of a part is the same', () => {
    const perfect = [1, 2, 4].map((value) => [
      [value, value],
      [value, value],
    ]);
    for (const study of [gaugeByVariance(perfect), gaugeByRange(perfect)]) {
      expect(study.gauge).toBe(0);
      expect(study.gaugeShare).toBe(0);
      expect(study.distinctCategories).toBeNull();
    }
  });

  it('refuses an unbalanced study, naming the place', () => {
    const broken = readings.map((part, p) =>
      p === 3 ? part.map((cell, o) => (o === 1 ? cell.slice(1) : cell)) : part,
    );
    expect(() => gaugeByVariance(broken)).toThrow(/part 3, operator 1 has 2 trials/);
    expect(() => gaugeByRange(broken)).toThrow(/part 3, operator 1/);
  });
});
