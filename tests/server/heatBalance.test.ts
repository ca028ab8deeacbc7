import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type CellHeatBalance, cellHeatBalance } from '../../server/contract/heatBalance.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type FilledStore, fillStore } from './exportStore.ts';
import { heatRecordFile, importHeatFile } from './heatRecordFile.ts';

let test: TestApp;
let filled: FilledStore;
let cellId: number;
let testId: number;
const lot = 'Los "A", Teil 1/2';
beforeAll(async () => {
  test = await openTestApp();
  filled = await fillStore(test.context);
  cellId = filled.cellIds[1];
  const text = await heatRecordFile(test.context, cellId, { heatCapacityJPerK: 36, heatTransferWPerK: 0.06 });
  testId = await importHeatFile(test.context, lot, 'B-002', text);
});
afterAll(async () => test.close());

const ask = (id: number, body: object = {}) =>
  request(test.app).post(`/api/v1/tests/${id}/heat-balance`).send(body);
async function fitted(id: number, body: object = {}): Promise<CellHeatBalance> {
  const answer = await ask(id, body);
  expect(answer.body).toMatchObject({ cellId });
  return cellHeatBalance.parse(answer.body);
}

describe('the heat balance of a stored charge with temperature', () => {
  it('gives back the body that was charged, from the rest voltage and the temperature alone', async () => {
    const { result, cellType, takeOver } = await fitted(testId);
    expect(result.reason).toBeNull();
    expect(result.heatCapacityJPerK).toBeCloseTo(36, 1);
    expect(result.heatTransferWPerK).toBeCloseTo(0.06, 4);
    expect(result.heatCapacityStandardErrorJPerK).toBeGreaterThan(0);
    expect(result.heatTransferStandardErrorWPerK).toBeGreaterThan(0);
    expect(result.startSoc).toBeCloseTo(0.2, 6);
    expect(result).toMatchObject({ startSocBasis: 'rest-voltage', ambientTemperatureC: 25, firstRow: 0 });
    expect(result.ambientBasis).toBe('cooler-end');
    expect(result.warnings).toEqual([
      'standard-errors-lower-bound',
      'reversible-heat-left-out',
      'ambient-assumed',
    ]);
    expect(result.parameterFitIds.length).toBeGreaterThan(0);
    // Nothing is put into the cell type by a fit.
    expect(cellType).toMatchObject({ heatCapacityJPerK: 41, heatTransferWPerK: 0.08 });
    expect(takeOver?.heatCapacityJPerK).toBe(result.heatCapacityJPerK);
  });

  it('takes what is asked for before what the record says, and warns where it cannot be', async () => {
    const { result } = await fitted(testId, { startSoc: 0.6, ambientTemperatureC: 25 });
    expect(result).toMatchObject({ startSoc: 0.6, startSocBasis: 'asked', ambientBasis: 'asked' });
    expect(result.warnings).toEqual(expect.arrayContaining(['soc-outside-range', 'voltage-against-ocv']));
    expect(result.reason).toBe('not-physical');
    // Surroundings that are 2 K off leave a temperature that the model cannot follow.
    const off = await fitted(testId, { startSoc: 0.2, ambientTemperatureC: 23 });
    expect(off.result).toMatchObject({ ambientTemperatureC: 23, reason: null });
    expect(off.result.warnings).toContain('poor-fit');
  });

  it('takes the cooler end for the surroundings of a cell that was still warm when its charge began', async () => {
    const body = { heatCapacityJPerK: 36, heatTransferWPerK: 0.06, startTemperatureC: 30, restAfterS: 7200 };
    const id = await importHeatFile(
      test.context,
      lot,
      'B-002',
      await heatRecordFile(test.context, cellId, body),
    );
    const { result } = await fitted(id);
    expect(result.ambientTemperatureC).toBeLessThan(25.05);
    expect((result.heatCapacityJPerK ?? 0) / 36).toBeCloseTo(1, 1);
    expect((result.heatTransferWPerK ?? 0) / 0.06).toBeCloseTo(1, 1);
    expect(result.warnings).not.toContain('poor-fit');
  });

  it('is read at the cell, beside the test’s own evaluation, and taken over by a change of the cell type', async () => {
    expect((await request(test.app).post(`/api/v1/tests/${testId}/evaluate`).send({})).status).toBe(200);
    const { fitId, cellType, takeOver } = await fitted(testId);
    const own = await request(test.app).get(`/api/v1/tests/${testId}/evaluation`);
    expect(own.body.evaluation.kind).toBe('capacity');
    const read = await request(test.app).get(`/api/v1/cells/${cellId}/heat-balance`);
    expect(read.body.fitId).toBe(fitId);
    const changed = await request(test.app)
      .patch(`/api/v1/cell-types/${cellType.id}`)
      .set('If-Match', `"${cellType.version}"`)
      .send(takeOver ?? {});
    expect(changed.body).toMatchObject(takeOver ?? { heatCapacityJPerK: 'missing' });
  });

  it('is used by a draft where the cell type has none, and the draft says so', async () => {
    const { cellType, takeOver } = await fitted(testId);
    await request(test.app)
      .patch(`/api/v1/cell-types/${cellType.id}`)
      .set('If-Match', `"${cellType.version}"`)
      .send({ heatCapacityJPerK: null, heatTransferWPerK: null });
    const draft = await request(test.app)
      .post('/api/v1/charge-studies/draft')
      .send({ stackId: filled.stackId });
    const { cells } = draft.body.description;
    for (const cell of cells) expect(cell.thermal).toEqual({ ...takeOver, basis: 'fitted' });
    const notes = draft.body.notes.filter((note: { code: string }) => note.code === 'fitted-heat-balance');
    expect(notes).toHaveLength(2);
    // The stack's other cell has none of its own: the note names the cell it comes from.
    for (const note of notes) expect(note.message).toContain('B-002');
    const rates = await request(test.app).get(`/api/v1/cell-types/${cellType.id}/charge-rates`);
    expect(rates.body.representative.heatBalance).toBe(true);
    expect(rates.body.representative.notes.join()).toContain('fitted');
  });
});

describe('a heat balance is refused by name', () => {
  it.each([
    ['a test that is not there', () => Promise.resolve(999), 404, 'id'],
    ['a test without a record', () => Promise.resolve(filled.testIds[0]), 422, 'record'],
    [
      'a record without temperature',
      async () => {
        const body = { heatCapacityJPerK: 36, heatTransferWPerK: 0.06, temperature: false };
        return importHeatFile(test.context, lot, 'B-002', await heatRecordFile(test.context, cellId, body));
      },
      422,
      'temperature',
    ],
  ])('%s', async (_, make, status, field) => {
    const answer = await ask(await make());
    expect(answer.status).toBe(status);
    expect(answer.body.errors?.[0].field ?? null).toBe(field);
  });

  it('a cell without fits, and a start SOC that cannot be', async () => {
    const text = await heatRecordFile(test.context, cellId, {
      heatCapacityJPerK: 40,
      heatTransferWPerK: 0.05,
    });
    const id = await importHeatFile(test.context, lot, 'C-003', text);
    const answer = await ask(id);
    expect(answer.status).toBe(422);
    expect(answer.body.errors[0].field).toMatch(/circuit model/);
    expect((await ask(testId, { startSoc: 1.2 })).body.errors[0].field).toBe('startSoc');
    expect((await request(test.app).get(`/api/v1/cells/${filled.bareCellId}/heat-balance`)).status).toBe(404);
  });

  it('and gives no values but the reason where the cell hardly warms', async () => {
    const body = { heatCapacityJPerK: 400, heatTransferWPerK: 2, rateC: 0.2 };
    const id = await importHeatFile(
      test.context,
      lot,
      'B-002',
      await heatRecordFile(test.context, cellId, body),
    );
    const { result, takeOver } = await fitted(id);
    expect(result).toMatchObject({ reason: 'too-little-warming', heatCapacityJPerK: null });
    expect(takeOver).toBeNull();
  });
});
