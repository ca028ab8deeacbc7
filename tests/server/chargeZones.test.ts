import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { chargeRates } from '../../server/contract/chargeRates.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';

let test: TestApp;
let filled: FilledStore;
beforeAll(async () => {
  test = await openTestApp();
  filled = await fillStore(test.context);
});
afterAll(() => test.close());

const typePath = () => `/api/v1/cell-types/${filled.cellTypeId}`;
async function change(chargeZones: unknown) {
  const { version } = (await request(test.app).get(typePath())).body;
  return request(test.app).patch(typePath()).set('If-Match', `"${version}"`).send({ chargeZones });
}
const zones = [
  { fromC: -5, toC: 10, maxChargeCurrentA: 0.4, maxVoltageV: null },
  { fromC: 10, toC: 45, maxChargeCurrentA: 2, maxVoltageV: null },
  { fromC: 45, toC: 60, maxChargeCurrentA: 1, maxVoltageV: 4.1 },
];

describe('the charge limits by temperature of a cell type', () => {
  it('are kept as entered and refused by row where they overlap or are empty', async () => {
    const overlap = await change([zones[0], { ...zones[1], fromC: 5 }]);
    expect(overlap.status).toBe(400);
    expect(JSON.stringify(overlap.body)).toContain('chargeZones.1.fromC');
    expect(JSON.stringify(overlap.body)).toContain('overlaps the zone up to 10');
    const empty = await change([{ ...zones[0], toC: -5 }]);
    expect(empty.status).toBe(400);
    expect(JSON.stringify(empty.body)).toContain('chargeZones.0.toC');
    expect((await request(test.app).get(typePath())).body.chargeZones).toEqual([]);
    const kept = await change(zones);
    expect(kept.status).toBe(200);
    expect(kept.body.chargeZones).toEqual(zones);
    expect((await request(test.app).get(typePath())).body.chargeZones).toEqual(zones);
  });

  it('bound the drafted study and the page of rates by the same rule', async () => {
    const draft = await request(test.app)
      .post('/api/v1/charge-studies/draft')
      .send({ stackId: filled.stackId });
    expect(draft.status).toBe(200);
    const { description } = draft.body;
    expect(description.cells[0].temperatureC).toEqual([25]);
    expect(description.cells[0].datasheet.zones).toEqual([
      { fromC: -5, toC: 10, maxCurrentA: 0.4 },
      { fromC: 10, toC: 45, maxCurrentA: 2 },
      { fromC: 45, toC: 60, maxCurrentA: 1, maxVoltageV: 4.1 },
    ]);
    const rates = chargeRates.parse((await request(test.app).get(`${typePath()}/charge-rates`)).body);
    const cold = rates.entries.filter((entry) => entry.temperatureC > 0 && entry.temperatureC < 15);
    expect(cold.length).toBeGreaterThan(0);
    const computed = await request(test.app)
      .post('/api/v1/charge-studies/compute')
      .send({
        description: {
          ...description,
          cells: description.cells.slice(0, 1),
          questions: {
            rateTable: {
              temperatureC: [...new Set(cold.map((e) => e.temperatureC)), 25],
              resistanceGrowth: [0],
            },
          },
        },
      });
    expect(computed.status).toBe(200);
    for (const { temperatureC, rateC, extrapolated, reason } of computed.body.rateTable.entries) {
      const page = rates.entries.find((e) => e.temperatureC === temperatureC && e.resistanceGrowth === 0);
      expect(page, `${temperatureC} °C`).toMatchObject({ extrapolated, reason });
      // The same cell at the middle of its lot: the same rate.
      expect((page?.rateC ?? 0) / rateC).toBeCloseTo(1, 1);
      if (temperatureC < 10) expect(rateC).toBeLessThanOrEqual(0.4 / 2 + 1e-9);
    }
    expect(computed.body.cautions).toContain('lithium-plating-not-modelled');
  });

  it('a draft carries the uncertainties of its fits, so that the spread is not nothing', async () => {
    const draft = await request(test.app)
      .post('/api/v1/charge-studies/draft')
      .send({ stackId: filled.stackId });
    const { description } = draft.body;
    const { uncertainty } = description.cells[0];
    expect(uncertainty.r0Relative).toBeGreaterThan(0);
    expect(uncertainty.branchRelative).toBeGreaterThan(0);
    const questions = { monteCarlo: { draws: 30 } };
    const { body } = await request(test.app)
      .post('/api/v1/charge-studies/compute')
      .send({ description: { ...description, questions } });
    expect(body.monteCarlo.endTimeS.high).toBeGreaterThan(body.monteCarlo.endTimeS.low + 0.1);
  });

  it('a kept study carries the notes of its draft and what was asked', async () => {
    const { description } = (
      await request(test.app).post('/api/v1/charge-studies/draft').send({ stackId: filled.stackId })
    ).body;
    const result = (await request(test.app).post('/api/v1/charge-studies/compute').send({ description }))
      .body;
    const messages = result.warnings.map((warning: { message: string }) => warning.message);
    for (const note of description.notes) expect(messages).toContain(note.message);
    expect(description.notes.length).toBeGreaterThan(1);
    expect(result.asked[0].text).toContain('complete at 0.05 C');
  });
});
