import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inTransaction } from '../../server/context.ts';
import { type ChargeRates, chargeRates } from '../../server/contract/chargeRates.ts';
import { changeCell } from '../../server/use-cases/register/changeCell.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { addMeasuredCell, type FilledStore, fillStore } from './exportStore.ts';

let test: TestApp;
let filled: FilledStore;
let bare: number;
beforeAll(async () => {
  test = await openTestApp();
  filled = await fillStore(test.context);
  const type = { maxChargeCurrentA: 1.4, chargeTemperatureMaxC: 50 };
  bare = (await makeLot(test.context, { lot: 'nothing measured', cellType: type })).cellType.id;
});
afterAll(async () => test.close());

async function ratesOf(of: string, id: number): Promise<ChargeRates> {
  const answer = await request(test.app).get(`/api/v1/${of}/${id}/charge-rates`);
  expect(answer.status).toBe(200);
  return chargeRates.parse(answer.body);
}
const at = (table: ChargeRates, temperatureC: number, growth = 0) => {
  const found = table.entries.find(
    (entry) => entry.temperatureC === temperatureC && entry.resistanceGrowth === growth,
  );
  if (found === undefined) throw new Error(`no entry at ${temperatureC} °C, growth ${growth}`);
  return found;
};

describe('recommended charge rates of a cell type with fitted cells', () => {
  it('are computed from the cell at the middle of the resistances of its lot, which is named', async () => {
    const table = await ratesOf('cell-types', filled.cellTypeId);
    expect(table.basis).toBe('computed-from-fitted-parameters');
    // Of two cells the one with the higher resistance: the first was filled with 1.08 times the resistances.
    expect(table.representative).toMatchObject({
      cellId: filled.cellIds[0],
      chosenBy: 'median-resistance',
      fittedCells: 2,
      measuredFromC: 25,
      measuredToC: 25,
      heatBalance: true,
    });
    expect(table.representative?.resistanceOhm).toBeCloseTo(0.031 * 1.08, 9);
    expect(table.representative?.fitIds.length).toBeGreaterThan(0);
    expect(table.entries).toHaveLength(table.temperaturesC.length * 3);
    expect(table.cautions).toEqual(
      expect.arrayContaining(['watch-each-cell', 'datasheet-outranks', 'lithium-plating-not-modelled']),
    );
  });

  it('never pass the rating, fall as the resistance grows, and are flagged where nothing was measured', async () => {
    const table = await ratesOf('cell-types', filled.cellTypeId);
    expect(table.limits).toMatchObject({ maxRateC: 2, maxRateBasis: 'datasheet' });
    for (const entry of table.entries) {
      if (entry.rateC === null) continue;
      expect(entry.rateC).toBeLessThanOrEqual(2);
      expect(entry.currentA).toBeCloseTo(entry.rateC * 2, 12);
    }
    for (const t of table.temperaturesC.filter((value) => value < 0 || value >= 25)) {
      const rates = [0, 0.5, 1].map((growth) => at(table, t, growth).rateC ?? Number.NaN);
      expect(rates[1]).toBeLessThanOrEqual(rates[0]);
      expect(rates[2]).toBeLessThanOrEqual(rates[1]);
    }
    expect(at(table, 25)).toMatchObject({ extrapolated: false, doNotCharge: false, reason: null });
    expect(at(table, 25).rateC).toBeGreaterThan(0.5);
    // Measured at 25 °C alone: warmer is flagged, colder is not given.
    expect(at(table, 35)).toMatchObject({ extrapolated: true, reason: null });
    for (const t of [0, 10])
      expect(at(table, t)).toMatchObject({
        rateC: null,
        currentA: null,
        doNotCharge: false,
        reason: 'not-measured-in-the-cold',
      });
    expect(table.cautions).toContain('parameters-extrapolated');
  });

  it('are zero outside the temperature window, as common practice where the window is the chemistry’s', async () => {
    const table = await ratesOf('cell-types', filled.cellTypeId);
    expect(at(table, -10)).toMatchObject({
      rateC: 0,
      doNotCharge: true,
      reason: 'below-minimum-temperature',
      basis: 'common-practice',
    });
    expect(at(table, 55, 1)).toMatchObject({ rateC: 0, reason: 'above-maximum-temperature' });
    expect(table.cautions).toEqual(expect.arrayContaining(['do-not-charge', 'default-limits-not-datasheet']));
  });

  it('take the lot entered last, and no cell that was set aside or has a warning sign', async () => {
    const { cellTypeId } = filled;
    const made = await request(test.app).post('/api/v1/lots').send({ name: 'later delivery', cellTypeId });
    const add = async (serial: string, scale: number) =>
      inTransaction(test.context, async (context) =>
        addMeasuredCell(context, made.body.id, 1, serial, 2, scale),
      );
    const [low, middle, high] = [await add('L-1', 0.9), await add('L-2', 1), await add('L-3', 1.3)];
    const first = await ratesOf('cell-types', cellTypeId);
    expect(first.representative).toMatchObject({ cellId: middle.cellId, fittedCells: 3, serial: 'L-2' });
    await changeCell(test.context, middle.cellId, 1, { state: 'set-aside', stateReason: 'dented' });
    const second = await ratesOf('cell-types', cellTypeId);
    expect(second.representative).toMatchObject({ cellId: high.cellId, fittedCells: 2 });
    await changeCell(test.context, high.cellId, 1, { note: 'damaged in transport' });
    const third = await ratesOf('cell-types', cellTypeId);
    expect(third.representative).toMatchObject({ cellId: low.cellId, fittedCells: 1 });
  });
});

describe('recommended charge rates by common practice', () => {
  it('of a cell type without fitted cells are marked so in every row and stay below the rating', async () => {
    const table = await ratesOf('cell-types', bare);
    expect(table).toMatchObject({ basis: 'common-practice', representative: null });
    expect(table.representativeReason).toBe('no-fitted-cell');
    expect(table.entries.every((entry) => entry.basis === 'common-practice')).toBe(true);
    expect(at(table, 25)).toMatchObject({ rateC: 0.7, currentA: 1.4, binding: 'datasheet-rating' });
    expect(at(table, 25, 0.5)).toMatchObject({
      rateC: null,
      currentA: null,
      reason: 'resistance-growth-needs-fitted-cell',
    });
    expect(at(table, 0)).toMatchObject({ rateC: null, reason: 'cold-needs-datasheet', doNotCharge: false });
    expect(at(table, 60)).toMatchObject({ rateC: 0, doNotCharge: true, reason: 'above-maximum-temperature' });
    expect(at(table, 60, 1).rateC).toBe(0);
    expect(table.limits.commonPractice).toEqual(['chargeVoltageLimit', 'minTemperature']);
  });

  it('do not recommend a rating above the usual rate of the chemistry without a fitted cell', async () => {
    const fast = await makeLot(test.context, { lot: 'fast', cellType: { maxChargeCurrentA: 12 } });
    const table = await ratesOf('cell-types', fast.cellType.id);
    expect(table.limits).toMatchObject({ maxRateC: 6, maxRateBasis: 'datasheet' });
    expect(at(table, 25)).toMatchObject({ rateC: 1, currentA: 2, binding: 'usual-rate' });
  });

  it('of a chemistry have no currents', async () => {
    const table = await ratesOf('chemistries', 1);
    expect(table.subject.kind).toBe('chemistry');
    expect(table.representativeReason).toBe('chemistry-in-general');
    expect(at(table, 25)).toMatchObject({ currentA: null, basis: 'common-practice', binding: 'usual-rate' });
    expect(at(table, 25).rateC).toBe(table.limits.maxRateC);
    expect(table.cautions).toContain('default-limits-not-datasheet');
  });

  it('name what is not there', async () => {
    expect((await request(test.app).get('/api/v1/cell-types/999/charge-rates')).status).toBe(404);
    expect((await request(test.app).get('/api/v1/chemistries/999/charge-rates')).status).toBe(404);
  });
});
