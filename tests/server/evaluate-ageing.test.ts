import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { parseEndOfLife, usualLimits } from '../../server/assess/ageing/ageingLimits.ts';
import { evaluateAgeingTable } from '../../server/assess/ageing/evaluateAgeingTable.ts';
import { evaluateAgeingFile } from '../../server/commands/evaluateAgeing.ts';
import { evaluateCapacityFile } from '../../server/commands/evaluateCapacity.ts';
import { tellAgeing } from '../../server/commands/tellAgeing.ts';
import { ageingResult } from '../../server/contract/ageingResult.ts';
import { capacityResult } from '../../server/contract/capacity.ts';
import { readAgeingTable } from '../../server/import/ageingTable.ts';
import { readTableFile } from '../../server/import/readTableFile.ts';
import { readCsv } from '../support/readCsv.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

const folder = mkdtempSync(join(tmpdir(), 'gemel-ageing-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const write = (name: string, text: string): string => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};
const plain = { lotPrior: true } as const;

/** Rows of a table of two cells with a falling capacity and a rising resistance. */
const rows = (header: string, line: (cell: string, n: number) => string): string =>
  [header, ...['A1', 'A2'].flatMap((cell) => Array.from({ length: 60 }, (_, i) => line(cell, i + 1)))].join(
    '\n',
  );

describe('gemel evaluate ageing', () => {
  it('takes columns by their names and units, and gives a result of the contract', async () => {
    const path = write(
      'cycles.csv',
      rows(
        'Serial;Cycle Number;Discharge Capacity (mAh);Internal Resistance (mOhm)',
        (cell, n) => `${cell};${n};${2500 - 2 * n};${30 + 0.05 * n}`,
      ),
    );
    const result = await evaluateAgeingFile(path, { ...plain, ratedCapacity: 2.5 });
    expect(ageingResult.parse(result)).toEqual(result);
    expect(result.cells.map(({ cell }) => cell)).toEqual(['A1', 'A2']);
    const [cell] = result.cells;
    expect(cell.quantity).toBe('capacity');
    expect(cell.chosen).toBe('linear');
    expect(cell.models.find(({ name }) => name === 'linear')?.parameters.initial).toBeCloseTo(2.5, 9);
    expect(cell.models.find(({ name }) => name === 'linear')?.units).toEqual({
      initial: 'Ah',
      slope: 'Ah/cycle',
    });
    expect(cell.companion?.series.firstMeasured).toBeCloseTo(0.03005, 9);
    expect(cell.limits.map(({ name }) => name)).toEqual([
      'capacity-80-percent-of-rated',
      'capacity-80-percent-of-first-measured',
      'resistance-200-percent-of-first-measured',
    ]);
    // 20 % of 2.5 Ah at 2 mAh a cycle: cycle 250 if the line holds, which few do for four times the observed 60.
    const far = cell.limits[0].forecast;
    expect(far.low ?? Infinity).toBeLessThan(200);
    expect(far.high ?? 0).toBeGreaterThan(250);
    expect(far.bendAhead ?? 0).toBeGreaterThan(0.5);
    const near = await evaluateAgeingFile(path, { ...plain, ratedCapacity: 2.5, refuseBeyond: 2 });
    expect(near.cells[0].limits[0].forecast).toMatchObject({ value: null, reason: 'beyond-stated-ratio' });
    expect(cell.growthAgainstLoss.slope).toBeCloseTo(0.05 / 30.05 / (2 / 2498), 1);
    expect(tellAgeing(result)).toContain('A forecast is an extrapolation');
  });

  it('forecasts a straight line and its resistance, and reports the earlier', async () => {
    const path = write(
      'quick.csv',
      rows(
        'cell_id,cycle,capacity_Ah,resistance_ohm',
        (cell, n) => `${cell},${n},${2.5 - 0.004 * n},${0.03 * (1 + n / 100)}`,
      ),
    );
    const result = await evaluateAgeingFile(path, plain);
    const [ofFirst, doubled] = result.cells[0].limits;
    // The first measured value is that of cycle 1: 2.496 Ah, and 80 % of it at 0.004 Ah a cycle is cycle 125.8.
    // The middle lies a little before the line's own crossing: some cells bend on the way, none bends back.
    for (const [{ forecast }, crossing] of [[ofFirst, 125.8] as const, [doubled, 102] as const]) {
      expect(Math.abs((forecast.value ?? 0) / crossing - 1)).toBeLessThan(0.025);
      expect(forecast.low ?? Infinity).toBeLessThan(0.9 * crossing);
      expect(forecast.high ?? 0).toBeGreaterThan(crossing);
      expect(forecast.high ?? Infinity).toBeLessThan(1.05 * crossing);
    }
    expect(result.cells[0].earliest).toMatchObject({
      name: 'resistance-200-percent-of-first-measured',
      extrapolation: true,
    });
    expect(result.cells[0].fan?.extrapolatedFrom).toBe(60);
    expect(result.warnings.some(({ code }) => code === 'extrapolation')).toBe(true);
  });

  it('takes a table without a cell column for one cell, and days for an axis', async () => {
    const lines = Array.from({ length: 30 }, (_, i) => `${i * 24},${(3 - 0.01 * i).toFixed(3)}`);
    const path = write('lone.csv', ['elapsed_h,capacity_Ah', ...lines].join('\n'));
    const result = await evaluateAgeingFile(path, { ...plain, endOfLife: ['2.5Ah'] });
    expect(result.axis).toBe('days');
    expect(result.cells[0].cell).toBe('lone');
    expect(result.cells[0].series.x.slice(0, 3)).toEqual([0, 1, 2]);
    expect(Math.abs((result.cells[0].limits[0].forecast.value ?? 0) / 50 - 1)).toBeLessThan(0.025);
  });

  it('works out equivalent full cycles from the cycles where no column gives them', async () => {
    const path = write(
      'efc.csv',
      rows('cell_id,cycle,capacity_Ah', (cell, n) => `${cell},${n},2`),
    );
    const result = await evaluateAgeingFile(path, {
      ...plain,
      axis: 'equivalent-full-cycles',
      ratedCapacity: 2.5,
    });
    expect(result.axis).toBe('equivalent-full-cycles');
    // A cycle of 2 Ah is 0.8 of a full cycle of the rated 2.5 Ah.
    expect(result.cells[0].series.x[9]).toBeCloseTo(8, 9);
    const throughput = await evaluateAgeingFile(path, { ...plain, axis: 'throughput-ah' });
    expect(throughput.cells[0].series.x[9]).toBeCloseTo(40, 9);
    await expect(evaluateAgeingFile(path, { ...plain, axis: 'equivalent-full-cycles' })).rejects.toThrow(
      /Equivalent full cycles need the rated capacity/,
    );
    await expect(evaluateAgeingFile(path, { ...plain, axis: 'days' })).rejects.toThrow(
      /No column gives the age as days/,
    );
  });

  it('follows a pair, and takes chosen columns, cells and rules', async () => {
    const path = write(
      'pair.csv',
      rows('device,n,c_Ah', (cell, n) => `${cell},${n},${cell === 'A1' ? 2 : 2 - 0.001 * n}`),
    );
    const result = await evaluateAgeingFile(path, {
      ...plain,
      columns: { cell: 'device', axis: 'n', capacity: 'c_Ah' },
      pair: [['A1', 'A2']],
      pairTolerance: 0.02,
      stays: { k: 2, n: 3 },
    });
    // 2 % of the mean of 2 and 2 − 0.001 n: just above n = 39.6.
    expect(result.pairs).toEqual([expect.objectContaining({ cells: ['A1', 'A2'], leavesAt: 40 })]);
    expect(result.cells[0].limits[0].staysFor).toEqual({ k: 2, n: 3 });
    const one = await evaluateAgeingFile(path, {
      ...plain,
      columns: { cell: 'device', axis: 'n', capacity: 'c_Ah' },
      cells: ['A2'],
    });
    expect(one.cells.map(({ cell }) => cell)).toEqual(['A2']);
  });

  it('refuses what cannot be, naming row, column or value', async () => {
    const bad = write('bad.csv', 'cell_id,cycle,capacity_Ah\nA,1,2.5\nA,2,oops\nA,3,2.4\n');
    await expect(evaluateAgeingFile(bad, plain)).rejects.toMatchObject({
      refusal: { row: 3, column: 'capacity_Ah', value: 'oops' },
    });
    const none = write('none.csv', 'cell_id,cycle,colour\nA,1,2\n');
    await expect(evaluateAgeingFile(none, plain)).rejects.toThrow(
      /No column is recognised as a capacity or a resistance/,
    );
    const ageless = write('ageless.csv', 'cell_id,capacity_Ah\nA,1\n');
    await expect(evaluateAgeingFile(ageless, plain)).rejects.toThrow(/No column is recognised as the age/);
    const negative = write('negative.csv', 'cell_id,cycle,capacity_Ah\nA,-1,2.5\n');
    await expect(evaluateAgeingFile(negative, plain)).rejects.toThrow(/An age cannot be negative/);
    const good = write('good.csv', 'cell_id,cycle,capacity_Ah\nA,1,2.5\nA,2,2.4\n');
    await expect(evaluateAgeingFile(good, { ...plain, cells: ['B'] })).rejects.toThrow(/There is no cell B/);
    await expect(evaluateAgeingFile(good, { ...plain, quantity: 'resistance' })).rejects.toThrow(
      /No cell has a resistance/,
    );
    await expect(evaluateAgeingFile(good, { ...plain, pair: [['A', 'B']] })).rejects.toThrow(
      /cell B has no capacity/,
    );
  });

  it('understands ends of life as people write them', () => {
    expect(parseEndOfLife('80%', 2)).toEqual({ quantity: 'capacity', basis: 'of-rated', value: 0.8 });
    expect(parseEndOfLife('80%', null)).toEqual({
      quantity: 'capacity',
      basis: 'of-first-measured',
      value: 0.8,
    });
    expect(parseEndOfLife('80 % of first', 2)).toEqual({
      quantity: 'capacity',
      basis: 'of-first-measured',
      value: 0.8,
    });
    expect(parseEndOfLife('880mAh', null)).toEqual({ quantity: 'capacity', basis: 'absolute', value: 0.88 });
    expect(parseEndOfLife('200%', 2)).toEqual({
      quantity: 'resistance',
      basis: 'of-first-measured',
      value: 2,
    });
    expect(parseEndOfLife('50 mOhm', null)).toEqual({
      quantity: 'resistance',
      basis: 'absolute',
      value: 0.05,
    });
    expect(() => parseEndOfLife('soon', null)).toThrow(/"soon" is not an end of life; write for example/);
    expect(() => parseEndOfLife('200%-of-rated', 2)).toThrow(/there is no rated resistance/);
    expect(usualLimits(null)).toHaveLength(2);
  });

  it('gives numbers or reasons, never NaN, whatever the series look like', () => {
    const value = fc.oneof(
      fc.double({ min: -1, max: 3, noNaN: true }),
      fc.constantFrom(0, 1, Number.NaN, 1e6),
      fc.double({ min: 0.9, max: 1, noNaN: true }),
    );
    const series = fc.array(fc.tuple(fc.integer({ min: 0, max: 60 }), value, value), { maxLength: 40 });
    fc.assert(
      fc.property(fc.array(series, { minLength: 1, maxLength: 6 }), fc.boolean(), (cells, rated) => {
        const inputs = cells.map((points, k) => ({
          cell: `c${k}`,
          x: Float64Array.from(points, (point) => point[0]),
          capacityAh: Float64Array.from(points, (point) => point[1]),
          resistanceOhm: Float64Array.from(points, (point) => point[2]),
        }));
        const result = evaluateAgeingTable(inputs, {
          quantity: 'capacity',
          ratedCapacityAh: rated ? 1 : null,
        });
        expect(JSON.parse(JSON.stringify(ageingResult.parse(result)))).toEqual(
          JSON.parse(JSON.stringify(result)),
        );
      }),
      { numRuns: 40, seed: 1 },
    );
  });

  it('refuses a cell given twice and columns of different lengths', () => {
    const x = Float64Array.of(1, 2, 3);
    const input = { cell: 'A', x, capacityAh: x, resistanceOhm: null };
    expect(() => evaluateAgeingTable([input, input], { quantity: 'capacity' })).toThrow(
      /Cell A is given twice/,
    );
    const short = { ...input, capacityAh: x.subarray(1) };
    expect(() => evaluateAgeingTable([short], { quantity: 'capacity' })).toThrow(/3 ages and 2 values/);
  });
});

const nasa = 'datasets/nasa-pcoe';
describe.skipIf(sharedIsMissing(`${nasa}/discharge_capacity.csv`))('the shared tables and records', () => {
  it('are taken as they are: columns found, no word needed', async () => {
    const found = async (file: string) => readAgeingTable(await readTableFile(sharedPath(file)), 'x');
    const capacities = await found(`${nasa}/discharge_capacity.csv`);
    expect(capacities.columns).toMatchObject({
      cell: 'cell_id',
      axis: 'discharge_index',
      capacity: 'capacity_Ah',
    });
    expect(capacities.cells).toHaveLength(16);
    const impedance = await found(`${nasa}/impedance.csv`);
    expect(impedance.columns).toMatchObject({ axis: 'discharges_before', resistance: 're_ohm' });
    expect(impedance.guessed).toEqual(['re_ohm']);
    const lithiumIron = await found('datasets/lfp-fast-charge/cycle_summary.csv');
    expect(lithiumIron.columns).toEqual({
      cell: 'cell_id',
      axis: 'cycle',
      capacity: 'discharge_capacity_Ah',
      resistance: 'internal_resistance_ohm',
    });
    expect(lithiumIron.cells).toHaveLength(31);
  });

  it('give a young cell of a lot a forecast that leans on the finished ones', async () => {
    const table = readCsv(sharedPath('datasets/lfp-fast-charge/cycle_summary.csv'));
    const lines = table.rows
      .filter((row) => row[0] !== 'b2c24' || Number(row[1]) <= 346)
      .map((row) => row.slice(0, 5).join(','));
    const path = write('young.csv', [table.header.slice(0, 5).join(','), ...lines].join('\n'));
    const result = await evaluateAgeingFile(path, { ...plain, endOfLife: ['0.88Ah'] });
    const young = result.cells.find(({ cell }) => cell === 'b2c24');
    expect(young?.limits[0].forecast.method).toBe('lot-prior');
    expect(young?.limits[0].forecast.priorCells).toHaveLength(26);
    // The real cell reached 0.88 Ah at cycle 495; this is 70 % of that.
    expect(young?.limits[0].forecast.low ?? Infinity).toBeLessThan(495);
    expect(young?.limits[0].forecast.high ?? 0).toBeGreaterThan(495);
    expect(Math.abs((young?.limits[0].forecast.value ?? 0) / 495 - 1)).toBeLessThan(0.1);
  });

  it('give capacities of all runs of a file, in the contract', async () => {
    const result = await evaluateCapacityFile(sharedPath(`${nasa}/discharge_series_B0005.csv`), {
      cutoff: 2.7,
      definition: 'first-sample-below',
      ratedCapacity: 2,
    });
    expect(capacityResult.parse(result)).toEqual(result);
    expect(result.runs).toHaveLength(10);
    expect(result.runs[0].capacityAh).toBeCloseTo(1.856487, 4);
    expect(result.runs[9].capacityAh).toBeCloseTo(1.325079, 4);
    expect(result.runs.map(({ index }) => index)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9]);
    expect(result.runs[1].startRow).toBe(result.runs[0].endRow);
  });

  it('say of a cut-off that no run reached that it was not reached', async () => {
    const path = sharedPath(`${nasa}/discharge_series_B0005.csv`);
    const result = await evaluateCapacityFile(path, { cutoff: 2, definition: 'interpolated-crossing' });
    expect(result.runs.every((run) => run.capacityAh === null && run.reason === 'did-not-reach-cutoff')).toBe(
      true,
    );
    expect(result.warnings.map(({ code }) => code)).toContain('did-not-reach-cutoff');
  });
});
