import { describe, expect, it } from 'vitest';
import { evaluateAgeingTable } from '../../server/assess/ageing/evaluateAgeingTable.ts';
import { readTableFile } from '../../server/import/readTableFile.ts';
import { readStressTable } from '../../server/import/stressTable.ts';
import { type CalibrationCase, calibrate, readCells } from '../bench/ageingCalibration.ts';
import { groupRows, numbers, readCsv } from '../support/readCsv.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// K. A. Severson et al., Nature Energy 4 (2019) 383-391, doi:10.1038/s41560-019-0356-8: 31 cells, 27 of them new; end of
// life is 0.88 Ah.
const folder = 'datasets/lfp-fast-charge';

describe.skipIf(sharedIsMissing(`${folder}/cycle_summary.csv`))('31 lithium iron phosphate cells', () => {
  const inputs = [...groupRows(readCsv(sharedPath(`${folder}/cycle_summary.csv`)).rows, 0)].map(
    ([cell, rows]) => ({
      cell,
      x: numbers(rows, 1),
      capacityAh: numbers(rows, 2),
      resistanceOhm: numbers(rows, 4),
    }),
  );
  const about = readCsv(sharedPath(`${folder}/cells.csv`)).rows;
  const carriedOn = about.filter((row) => row[9] !== '').map((row) => row[0]);
  const lives = new Map(about.map((row) => [row[0], Number(row[6])]));
  const limits = [{ quantity: 'capacity', basis: 'absolute', value: 0.88 } as const];

  it('cross 0.88 Ah at exactly the published cycle life, all 27 that started new', async () => {
    const stress = readStressTable(await readTableFile(sharedPath(`${folder}/cells.csv`)), []);
    const result = evaluateAgeingTable(inputs, {
      quantity: 'capacity',
      ratedCapacityAh: 1.1,
      limits,
      stress,
    });
    const fresh = result.cells.filter(({ cell }) => !carriedOn.includes(cell));
    expect(fresh).toHaveLength(27);
    for (const { cell, limits: found } of fresh) expect(found[0].crossedAt, cell).toBe(lives.get(cell));

    // Four cells carry on from an earlier campaign; their records stop just above the limit, one cycle before it.
    expect(result.cells.filter((cell) => cell.series.carriedOver).map(({ cell }) => cell)).toEqual(carriedOn);
    for (const cell of result.cells.filter(({ cell: name }) => carriedOn.includes(name))) {
      const { crossedAt, forecast } = cell.limits[0];
      expect(crossedAt, cell.cell).toBeNull();
      expect(forecast.method, cell.cell).toBe('model-average');
      expect(Math.abs((forecast.value ?? 0) / (lives.get(cell.cell) ?? 1) - 1), cell.cell).toBeLessThan(0.02);
    }

    // The bench stopped and restarted around cycles 247 to 259.
    const restarts = result.cells[0].series.restarts;
    expect(restarts).toHaveLength(1);
    expect(restarts[0]).toBeGreaterThan(240);
    expect(restarts[0]).toBeLessThan(260);

    // All policies charge to 80 % in 10 minutes: what the rate costs in life can hardly be told from these cells.
    expect(result.stress?.cells).toHaveLength(27);
    expect(result.stress?.terms[0].coefficient ?? 0).toBeLessThan(0);
    expect(result.stress?.explainedVarianceLeftOut ?? 1).toBeGreaterThan(0.25);
    expect(result.stress?.explainedVarianceLeftOut ?? 1).toBeLessThan(0.6);
    const effect = result.stress?.terms[0].effect;
    expect(effect?.factor ?? 1).toBeLessThan(0.7);
    expect(effect?.high ?? 1).toBeLessThan(1);
    expect(result.stress).toMatchObject({ verdict: 'weak', reason: 'left-out-variance-low' });
  });

  it('have their zero resistances left out and named', () => {
    const some = inputs.filter(({ cell }) => cell === 'b2c7' || cell === 'b2c8');
    const result = evaluateAgeingTable(some, { quantity: 'resistance', limits: [] });
    const zeros = result.cells.map((cell) =>
      cell.series.leftOut.filter(({ reason }) => reason === 'zero').map(({ x }) => x),
    );
    expect(zeros).toEqual([[331], [313]]);
  });

  it('keep a single dip of a restart from ending life', () => {
    const { x, y } = readCells().find(({ cell }) => cell === 'b2c28') ?? {
      x: new Float64Array(),
      y: new Float64Array(),
    };
    const dip = y.map((value, i) => (x[i] === 250 ? 0.8 : value));
    const input = { cell: 'dip', x, capacityAh: dip, resistanceOhm: null };
    const [cell] = evaluateAgeingTable([input], { quantity: 'capacity', limits }).cells;
    expect(cell.limits[0].firstDipAt).toBe(250);
    expect(cell.limits[0].crossedAt).toBe(lives.get('b2c28'));
    expect(cell.series.leftOut.some(({ x: at, reason }) => at === 250 && reason === 'spike')).toBe(true);
  });

  // Widths and errors asked of a forecast from 50, 75 and 90 % of life, as shares of life.
  const shares = [0.5, 0.75, 0.9];
  const [mostWidth, mostError] = [
    [0.6, 0.35, 0.2],
    [0.15, 0.08, 0.04],
  ];
  const widthOf = ({ forecast, life }: CalibrationCase): number =>
    ((forecast.high ?? Infinity) - (forecast.low ?? 0)) / life;
  const middleOf = (values: readonly number[]): number =>
    [...values].sort((a, b) => a - b)[values.length >> 1];

  it('are forecast from the other 26 with intervals that hold, are narrow, and lie right', () => {
    calibrate(shares, true).forEach((row, i) => {
      const about = `from ${row.share}`;
      expect(row.coverage[1], about).toBeGreaterThanOrEqual(0.7);
      expect(row.coverage[1], about).toBeLessThanOrEqual(0.92);
      expect(middleOf(row.cases.map(widthOf)), about).toBeLessThan(mostWidth[i]);
      expect(row.medianError, about).toBeLessThan(mostError[i]);
      expect(row.cases.every(({ cell, forecast }) => !forecast.priorCells.includes(cell))).toBe(true);
      // A cell that went another way than the others so far is forecast alone: at most one of the 27.
      expect(row.cases.filter(({ forecast }) => forecast.method !== 'lot-prior').length, about).toBeLessThan(
        2,
      );
    });
  });

  it('are forecast alone with intervals that hold, without bias, and with word of the bend that may come', () => {
    calibrate(shares, false).forEach((row, i) => {
      const about = `from ${row.share}`;
      expect(row.coverage[1], about).toBeGreaterThanOrEqual(0.7);
      expect(middleOf(row.cases.map(widthOf)), about).toBeLessThan(mostWidth[i]);
      expect(Math.abs(middleOf(row.cases.map(({ error }) => error ?? Infinity))), about).toBeLessThan(0.15);
      for (const { forecast } of row.cases) {
        expect(forecast.method).toBe('model-average');
        expect(forecast.bendAhead ?? 0).toBeGreaterThan(0);
        expect(forecast.low ?? 0).toBeGreaterThanOrEqual(forecast.end);
      }
    });
  });
});
