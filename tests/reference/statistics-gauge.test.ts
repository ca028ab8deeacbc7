import { describe, expect, it } from 'vitest';
import { gaugeByRange, gaugeByVariance } from '../../fitting/statistics/gaugeStudy.ts';
import { crossedReadings as readings } from '../support/crossedReadings.ts';

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
