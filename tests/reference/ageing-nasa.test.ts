import { describe, expect, it } from 'vitest';
import { evaluateAgeingTable } from '../../server/assess/ageing/evaluateAgeingTable.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// B. Saha and K. Goebel, "Battery Data Set", NASA Ames Prognostics Data Repository (2007); capacity steps up after rests.
const file = 'datasets/nasa-pcoe/discharge_capacity.csv';
const recoveryRuns = new Set([20, 31, 48, 78, 90, 103, 104, 120, 133, 134, 151, 167, 168]);

describe.skipIf(sharedIsMissing(file))('the NASA Ames cells', () => {
  const groups = groupRows(readCsv(sharedPath(file)).rows, 0);
  const evaluate = (cell: string, rows: readonly string[][]) =>
    evaluateAgeingTable([{ cell, x: numbers(rows, 1), capacityAh: numbers(rows, 8), resistanceOhm: null }], {
      quantity: 'capacity',
      ratedCapacityAh: 2,
    }).cells[0];

  it.each(['B0005', 'B0006'])(
    '%s: removing the 13 recovery runs moves no parameter by a standard error',
    (cell) => {
      const rows = groups.get(cell) ?? [];
      const all = evaluate(cell, rows);
      const without = evaluate(
        cell,
        rows.filter((row) => !recoveryRuns.has(Number(row[1]))),
      );
      expect(rows).toHaveLength(168);
      expect(without.series.x).toHaveLength(155);
      expect(without.chosen).toBe(all.chosen);
      let compared = 0;
      all.models.forEach((model, i) => {
        for (const [name, error] of Object.entries(model.standardErrors)) {
          const [before, after] = [model.parameters[name], without.models[i].parameters[name]];
          if (error === null || before === null || after === null || model.reason !== null) continue;
          expect(Math.abs(after - before) / error, `${model.name} ${name}`).toBeLessThan(1);
          compared++;
        }
      });
      expect(compared).toBeGreaterThanOrEqual(12);
      expect(without.limits[0].crossedAt).toBe(all.limits[0].crossedAt);
    },
  );

  it('keep impossible values as measured, marked and left out', () => {
    const reasons = (cell: string) => {
      const found = evaluate(cell, groups.get(cell) ?? []).series;
      return found.leftOut.map(({ x, value, reason }) => `${x} ${value} ${reason}`);
    };
    // Runs that never got below 2.7 V read 0; run 5 of B0049 reads 2.38 Ah, impossible for this cell.
    expect(reasons('B0045')).toEqual(expect.arrayContaining(['20 0 zero', '66 0 zero']));
    expect(reasons('B0049').some((text) => text.startsWith('5 2.378'))).toBe(true);
    expect(reasons('B0049')).toContain('17 0 zero');
    expect(reasons('B0041').filter((text) => text.endsWith('below-plausible-limit'))).toHaveLength(42);
  });

  it('report two different dates for 80 % of rated and 80 % of first measured', () => {
    const [ofRated, ofFirst] = evaluate('B0005', groups.get('B0005') ?? []).limits;
    expect(ofRated).toMatchObject({ basis: 'of-rated', threshold: 1.6 });
    expect(ofFirst.threshold).toBeCloseTo(0.8 * 1.856487, 9);
    expect(ofRated.crossedAt ?? 0).toBeLessThan(ofFirst.crossedAt ?? 0);
  });
});
