import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { toleranceOf } from '../../server/assess/lots/toleranceOf.ts';
import type { ColumnStatistics } from '../../server/contract/lots.ts';
import { inOrder } from '../../server/inOrder.ts';
import { insertMeasurements, type NewMeasurement } from '../../server/store/measurements.ts';
import { createCell } from '../../server/use-cases/register/createCell.ts';
import { makeLot } from '../support/basics.ts';
import { newMeasurement } from '../support/measurement.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const COUNT = 30;

const measured = (
  cellId: number,
  quantity: NewMeasurement['quantity'],
  value: number,
  measuredAt: string | null,
): NewMeasurement =>
  newMeasurement(cellId, {
    quantity,
    value,
    unit: quantity === 'capacity' ? 'A.h' : quantity === 'mass' ? 'g' : 'Ohm',
    measuredAt,
  });

describe('the judgement of a lot', () => {
  let test: TestApp;
  let columns: ColumnStatistics[];
  let serials: string[];
  beforeAll(async () => {
    test = await openTestApp();
    const lotId = (await makeLot(test.context, { cellType: { capacityMinAh: 4.9 } })).lot.id;
    serials = Array.from({ length: COUNT }, (_, i) => `C${i + 1}`);
    const ids = await inOrder(
      serials,
      async (serial) => (await createCell(test.context, { lotId, serial, note: '' })).id,
    );
    const normal = normalSource(seededRandom(8));
    // Measured in the reverse order of the cells, the fixture degrading step by step after the twentieth.
    const at = (i: number): string => new Date(Date.UTC(2026, 0, 5, 8, 10 * (COUNT - i))).toISOString();
    const skewed = (i: number): number => 0.02 + 0.001 * 2 ** (i % 10);
    await insertMeasurements(
      test.context.store,
      ids.flatMap((id, i) => [
        { ...measured(id, 'capacity', 5 + 0.01 * normal(), at(i)), currentA: i === 3 ? -0.1 : -0.4 },
        measured(id, 'mass', 60 + 0.1 * normal() + Math.max(0, COUNT - i - 20), at(i)),
        { ...measured(id, 'energy', 18, null), unit: 'W.h', currentA: -0.4 + 0.01 * (i % 3) },
        measured(id, 'impedance-1khz', skewed(i), null),
      ]),
      '2026-02-01T08:00:00.000Z',
    );
    const keys = (await request(test.app).get(`/api/v1/lots/${lotId}/columns`)).body.columns.map(
      (column: { key: string }) => column.key,
    );
    const answer = await request(test.app)
      .get(`/api/v1/lots/${lotId}/statistics`)
      .query({ columns: keys.join(',') });
    expect(answer.status).toBe(200);
    columns = answer.body.columns;
  });
  afterAll(async () => test.close());
  const column = (quantity: string): ColumnStatistics => {
    const found = columns.find(({ key }) => key.startsWith(quantity));
    if (!found) throw new Error(`no column ${quantity}`);
    return found;
  };

  it('gives an individuals chart in the order of measuring, in which a drifting fixture leaves the limits', () => {
    const { points, outside, lower, upper, reason } = column('mass').inOrder;
    expect(reason).toBeNull();
    expect(points.map(({ serial }) => serial)).toEqual([...serials].reverse());
    expect(points.filter(({ cellId }) => outside.includes(cellId)).map(({ serial }) => serial)).toContain(
      'C1',
    );
    for (const { cellId, value } of points) {
      expect(outside.includes(cellId)).toBe(value < (lower ?? 0) || value > (upper ?? 0));
    }
  });

  it('says why there is no such chart where the values carry no times', () => {
    expect(column('impedance-1khz').inOrder).toMatchObject({ points: [], centre: null, reason: 'no-times' });
  });

  it('gives tolerance limits by the ordered values where the lot is not normal, with the coverage that they hold', () => {
    const resistance = column('impedance-1khz');
    expect(resistance.normality.normal).toBe(false);
    const { method, coverage, confidence, lower, upper, leftOut } = resistance.tolerance;
    const kept = COUNT - leftOut;
    expect({ method, confidence, lower }).toEqual({
      method: 'ordered-values',
      confidence: 0.95,
      lower: resistance.minimum,
    });
    expect(leftOut).toBe(resistance.outliers.length);
    expect(upper).toBeLessThanOrEqual(resistance.maximum ?? 0);
    // What the two extremes hold: 1 − n pⁿ⁻¹ + (n − 1) pⁿ (Wilks, Ann. Math. Stat. 12 (1941) 91).
    expect(1 - kept * coverage ** (kept - 1) + (kept - 1) * coverage ** kept).toBeCloseTo(0.95, 6);
  });

  it('gives tolerance limits of a normal lot on the side that the specification limits', () => {
    const { tolerance, capability, mean, standardDeviation } = column('capacity');
    expect(tolerance).toMatchObject({ method: 'normal', upper: null, reason: null });
    // One-sided factor for n = 30, 99 % coverage, 95 % confidence: 3.064 (ISO 16269-6, as remembered).
    expect(((mean ?? 0) - (tolerance.lower ?? 0)) / (standardDeviation ?? 1)).toBeCloseTo(3.064, 3);
    const [low, high] = capability.cpkInterval ?? [Number.NaN, Number.NaN];
    expect(low).toBeLessThan(capability.cpk ?? Number.NaN);
    expect(high).toBeGreaterThan(capability.cpk ?? Number.NaN);
  });

  it("gives Grubbs' test beside the robust rule, with statistic and critical value", () => {
    const mass = columns.find((column) => column.key.startsWith('mass'));
    expect(mass?.grubbs).toMatchObject({ alpha: 0.05, reason: null });
    for (const { statistic, critical } of mass?.grubbs.outliers ?? [])
      expect(statistic).toBeGreaterThan(critical);
    const skewed = columns.find((column) => column.key.startsWith('impedance-1khz'));
    // A value of 0.532 among thirty up to there: the statistic of the largest is known from the sample itself.
    const values = skewed?.normalPlot.map(({ value }) => value) ?? [];
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const deviation = Math.sqrt(
      values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1),
    );
    const statistic = (Math.max(...values) - mean) / deviation;
    // Critical value for 30 values, two-sided, 5 %: 2.908 (Grubbs 1969, table; from memory).
    expect(skewed?.grubbs.outliers.length === 0).toBe(statistic <= 2.908);
  });

  it('gives tolerance limits of the content and the confidence that are asked for', async () => {
    const ask = async (query: object) =>
      (
        await request(test.app)
          .get(`/api/v1/lots/1/statistics`)
          .query({ columns: 'energy', ...query })
      ).body;
    const usual = (await ask({})).columns[0].tolerance;
    const less = (await ask({ coverage: 0.9, confidence: 0.9 })).columns[0].tolerance;
    expect(usual).toMatchObject({ coverage: 0.99, confidence: 0.95 });
    expect(less).toMatchObject({ coverage: 0.9, confidence: 0.9 });
    expect((await request(test.app).get('/api/v1/lots/1/statistics').query({ coverage: 1.2 })).status).toBe(
      400,
    );
  });

  it('says where values of unlike currents stand together', () => {
    expect(column('capacity').mixedCurrents).toEqual({ leastA: 0.1, greatestA: 0.4 });
    expect(column('energy').mixedCurrents).toBeNull();
    expect(column('mass').mixedCurrents).toBeNull();
  });

  it('gives no tolerance limits from so few values that their distribution cannot be tested', () => {
    expect(toleranceOf([1, 2, 1.5, 1.2, 1.9, 1.4, 1.6], { lower: null, upper: null }, 0)).toMatchObject({
      lower: null,
      upper: null,
      reason: 'too-few-values',
    });
  });
});
