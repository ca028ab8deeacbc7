import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { type LinePoint, lineBetween } from '../../server/assess/lots/lineBetween.ts';
import { tellLotLine } from '../../server/commands/tellLotLine.ts';
import { type LotLine, lotLine } from '../../server/contract/lotLine.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/** Cells on y = 30 − 4 x, read with errors in both, and with scatter of their own in y and in x. */
function cells(seed: number, count: number, own: number, ownX = 0): LinePoint[] {
  const normal = normalSource(seededRandom(seed));
  return Array.from({ length: count }, () => {
    const x = 2.5 + 0.05 * normal();
    const [xUncertainty, yUncertainty] = [0.015, 0.05];
    return {
      x: x + (ownX === 0 ? 0 : ownX * normal()) + xUncertainty * normal(),
      y: 30 - 4 * x + own * normal() + yUncertainty * normal(),
      xUncertainty,
      yUncertainty,
    };
  });
}

describe('lineBetween(points, at)', () => {
  it('covers the slope and the inverse prediction in 92 to 98 of 100 lots with errors as stated', () => {
    let [slopes, inverses] = [0, 0];
    const tries = 600;
    for (let seed = 1; seed <= tries; seed++) {
      const { slope, inverse } = lineBetween(cells(seed, 40, 0), 20.1);
      if ((slope?.low ?? 0) <= -4 && (slope?.high ?? -9) >= -4) slopes++;
      if ((inverse?.low ?? 9) <= 2.475 && (inverse?.high ?? 0) >= 2.475) inverses++;
    }
    // Four standard deviations of 600 tries of 95 % are 3.6 of 100.
    for (const share of [slopes / tries, inverses / tries]) {
      expect(share).toBeGreaterThan(0.915);
      expect(share).toBeLessThan(0.985);
    }
  });

  it('does not flatten the line as a fit with errors in y alone does', () => {
    const values = Array.from({ length: 40 }, (_, k) => lineBetween(cells(k + 1, 200, 0)).slope?.value ?? 0);
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    // Errors of x of 0.015 in a spread of 0.05 take 8 % off an ordinary line's slope.
    expect(mean).toBeGreaterThan(-4.12);
    expect(mean).toBeLessThan(-3.88);
  });

  it.each([
    ['y', 0.1, 0],
    ['y', 0.2, 0],
    ['x', 0, 0.03],
    ['both', 0.1, 0.03],
  ])('holds the slope where the cells scatter by more than their uncertainties, in %s', (_, own, ownX) => {
    const tries = 300;
    let [held, given, inverses] = [0, 0, 0];
    for (let seed = 1; seed <= tries; seed++) {
      const { slope, inverse } = lineBetween(cells(seed, 60, own, ownX), 20.1);
      if (slope?.low != null && slope.high !== null) {
        given++;
        if (slope.low <= -4 && slope.high >= -4) held++;
      }
      if (inverse?.low != null && inverse.high !== null && (inverse.low > 2.475 || inverse.high < 2.475))
        inverses++;
    }
    expect(given).toBeGreaterThan(0.9 * tries);
    expect(held / given).toBeGreaterThan(0.915);
    expect(inverses / tries).toBeLessThan(0.09);
  });

  it('says that any slope may be where the scatter hides the line', () => {
    const line = lineBetween(cells(5, 60, 0.5));
    expect(line.scatter).toBeGreaterThan(2.5);
    expect(line.slope).toMatchObject({ standardError: null, low: null, high: null });
    const text = tellLotLine({
      ...line,
      lotId: 1,
      algorithm: { name: 'lot-line', version: '1' },
      x: { column: 'capacity', unit: 'Ah' },
      y: { column: 'mass', unit: 'g' },
      leftOut: [],
    });
    expect(text).toMatch(/may be unrelated/);
    expect(text).toMatch(/which may have any slope/);
  });

  it('gives no line, or an open inverse, with the reason', () => {
    expect(lineBetween(cells(1, 3, 0)).reason).toBe('too-few-cells');
    const alike = cells(1, 6, 0).map((point) => ({ ...point, x: 2.5 }));
    expect(lineBetween(alike)).toMatchObject({ slope: null, reason: 'no-spread' });
    const unrelated = cells(3, 8, 0).map((point, k) => ({ ...point, y: 20 + (k % 2) * 0.01 }));
    expect(lineBetween(unrelated, 20.5).inverse).toMatchObject({ x: null, reason: 'interval-open' });
  });
});

describe('the line between two quantities of a lot', () => {
  let test: TestApp;
  let lotId: number;
  beforeAll(async () => {
    test = await openTestApp();
    const { lot } = await makeLot(test.context, { lot: 'line' });
    lotId = lot.id;
    // One lot of those whose intervals hold the truth, as 95 of 100 do (above).
    const rows = cells(8, 30, 0).map(
      ({ x, y }, k) => `L-${k},${(x - 0.3).toFixed(4)},0.015,${y.toFixed(3)},0.05`,
    );
    rows.push('L-far,2.2,0.015,45,0.05', 'L-open,2.2,,20,0.05');
    const text = `cell_id,capacity_Ah,capacity_uncertainty_Ah,resistance_10s_mohm,resistance_10s_uncertainty_mohm\n${rows.join('\n')}\n`;
    const report = await importFile(
      test.context,
      { name: 'line.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true },
      { lot: 'line', kind: 'cell-table' },
      'line',
    );
    expect(report.state, JSON.stringify(report)).toBe('taken');
  });
  afterAll(async () => test.close());

  async function ask(query: Record<string, string>): Promise<{ status: number; body: LotLine }> {
    const { status, body } = await request(test.app).get(`/api/v1/lots/${lotId}/line`).query(query);
    return { status, body };
  }

  it('leaves outliers and cells without an uncertainty out by name, and reads a value back', async () => {
    const columns = (await request(test.app).get(`/api/v1/lots/${lotId}/columns`)).body.columns;
    const key = (quantity: string): string =>
      columns.find((column: { quantity: string; key: string }) => column.quantity === quantity).key;
    const { status, body } = await ask({ x: key('capacity'), y: key('resistance'), at: '0.0204' });
    expect(status).toBe(200);
    const line = lotLine.parse(body);
    expect(line.leftOut.map(({ serial, reason }) => `${serial} ${reason}`)).toEqual([
      'L-far outlier',
      'L-open uncertainty-not-stated',
    ]);
    expect(line.n).toBe(30);
    // −4 mΩ per Ah; the values are stored in Ω.
    expect(line.slope?.low ?? 0).toBeLessThan(-0.004);
    expect(line.slope?.high ?? -1).toBeGreaterThan(-0.004);
    expect(line.inverse?.low ?? 9).toBeLessThan(2.1);
    expect(line.inverse?.high ?? 0).toBeGreaterThan(2.1);
    const told = tellLotLine(line);
    expect(told).toMatch(/30 cells \(errors in both\)/);
    expect(told).toMatch(/Left out: L-far \(outlier\), L-open \(uncertainty-not-stated\)/);
    expect(told).toMatch(/The line meets 0\.0204 Ohm at 2\.\d+ A\.h, 95 % /);
  });

  it('refuses one column twice, an unknown one, and an uncertainty of 0, by name', async () => {
    expect(await ask({ x: 'capacity', y: 'capacity' })).toMatchObject({
      status: 400,
      body: { errors: [{ field: 'y' }] },
    });
    expect((await ask({ x: 'capacity', y: 'nonsense//' })).status).toBe(400);
    expect((await ask({ x: 'capacity', y: 'mass', xUncertainty: '0' })).status).toBe(400);
  });
});
