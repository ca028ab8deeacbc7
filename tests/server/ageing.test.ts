import { MessageChannel } from 'node:worker_threads';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ageingSettings, type CellAgeing, type LotAgeing } from '../../server/contract/ageingAssessment.ts';
import runTask from '../../server/jobs/worker.ts';
import { listMeasurements } from '../../server/store/measurements.ts';
import { assessAgeing } from '../../server/use-cases/ageing/assessAgeing.ts';
import { makeLot } from '../support/basics.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { lives, makeAgedLot } from './agedLot.ts';

let test: TestApp;
let lotId: number;
let idOf: Record<string, number>;
const api = (path: string) => `/api/v1${path}`;

beforeAll(async () => {
  test = await openTestApp();
  ({ lotId, idOf } = await makeAgedLot(test));
});
afterAll(async () => test.close());

const settings = (given: Record<string, unknown> = {}) =>
  ageingSettings.parse({ activationEnergyJPerMol: 25000, ...given });

describe('the ageing of a stored lot', () => {
  it('is not there before it was assessed, and refused where nothing can be followed', async () => {
    const missing = await request(test.app).get(api(`/lots/${lotId}/ageing`));
    expect([missing.status, missing.body]).toEqual([200, null]);
    const ofCell = await request(test.app).get(api(`/cells/${idOf.a}/ageing`));
    expect([ofCell.status, ofCell.body]).toEqual([200, null]);
    expect((await request(test.app).get(api('/lots/999/ageing'))).status).toBe(404);
    const empty = await makeLot(test.context, { lot: 'B' });
    await expect(async () => assessAgeing(test.context, empty.lot.id, settings())).rejects.toThrow(
      /No cell of the lot B has a capacity with an age in cycle/,
    );
    await expect(async () => assessAgeing(test.context, lotId, settings({ axis: 'days' }))).rejects.toThrow(
      /with an age in days/,
    );
    await expect(async () =>
      assessAgeing(test.context, lotId, settings({ endOfLife: ['soon'] })),
    ).rejects.toThrow(/"soon" is not an end of life/);
  });

  it('is put into the queue by a request whose fields are checked', async () => {
    const bad = await request(test.app)
      .post(api(`/lots/${lotId}/ageing`))
      .send({ level: 2, colour: 'blue' });
    expect(bad.status).toBe(400);
    expect(bad.body.errors.map((e: { field: string }) => e.field)).toEqual(expect.arrayContaining(['level']));
    const soon = await request(test.app)
      .post(api(`/lots/${lotId}/ageing`))
      .send({ endOfLife: ['80%', 'soon'] });
    expect(soon.body).toMatchObject({ status: 400, errors: [{ field: 'endOfLife.1', value: 'soon' }] });
    expect((await request(test.app).post(api('/lots/999/ageing')).send({})).status).toBe(404);
    const queued = await request(test.app)
      .post(api(`/lots/${lotId}/ageing`))
      .send({ activationEnergyJPerMol: 25000 });
    expect(queued.status).toBe(202);
    expect(queued.body).toMatchObject({
      kind: 'ageing',
      state: 'waiting',
      input: { lotId, settings: { quantity: 'capacity' } },
    });
    const { port1, port2 } = new MessageChannel();
    const result = await runTask({
      database: test.context.store.place,
      jobId: queued.body.id,
      workerId: '1:1',
      kind: 'ageing',
      input: queued.body.input,
      actorName: 'bench 2',
      port: port2,
      stop: new Int32Array(new SharedArrayBuffer(4)),
      crew: null,
    });
    port1.close();
    expect(result).toMatchObject({ cells: 8, without: 1 });
  });

  it('shows its cells over each other, the young one forecast by the finished ones, and the stack that drifts', async () => {
    const answer = await request(test.app).get(api(`/lots/${lotId}/ageing`));
    expect(answer.status).toBe(200);
    const lot = answer.body as LotAgeing;
    expect(lot.fit).toMatchObject({
      kind: 'ageing-lot',
      algorithm: 'ageing',
      createdBy: 'bench 2',
      supersededAt: null,
    });
    expect(lot.cells.map(({ serial }) => serial)).toEqual(Object.keys(lives).sort());
    expect(lot.without).toEqual([{ cellId: idOf.untouched, serial: 'untouched' }]);
    for (const cell of lot.cells.filter(({ serial }) => serial !== 'young')) {
      const limit = cell.limits.find(({ name }) => name === 'capacity-80-percent-of-rated');
      expect(Math.abs((limit?.crossedAt ?? 0) - lives[cell.serial]), cell.serial).toBeLessThanOrEqual(1);
    }
    const young = lot.cells.find(({ serial }) => serial === 'young');
    const forecast = young?.limits[0].forecast;
    expect(forecast?.method).toBe('lot-prior');
    expect(forecast?.low ?? Infinity).toBeLessThan(100);
    expect(forecast?.high ?? 0).toBeGreaterThan(100);
    expect(lot.pairs).toHaveLength(1);
    expect(lot.pairs[0]).toMatchObject({ stackName: 'pair a+b', cells: ['a', 'b'], tolerance: 0.02 });
    expect(lot.pairs[0].leavesAt ?? 0).toBeGreaterThan(40);
  });

  it('shows one cell with its series, models and fan, and resistances reduced to one temperature', async () => {
    const answer = await request(test.app).get(api(`/cells/${idOf.young}/ageing`));
    expect(answer.status).toBe(200);
    const { assessment } = answer.body as CellAgeing;
    expect(assessment.ratedCapacityAh).toBe(2);
    expect(assessment.resistanceCondition).toEqual({
      quantity: 'resistance',
      durationS: 10,
      direction: 'discharge',
      soc: 0.5,
      reducedToC: 25,
    });
    expect(assessment.cell.series.x).toHaveLength(70);
    expect(assessment.cell.fan?.extrapolatedFrom).toBe(70);
    const resistance = assessment.cell.companion?.series.value.filter((value) => value !== null) ?? [];
    expect(resistance).toHaveLength(14);
    // Reduced, the series rises all the way; as measured it would jump by 42 % from one point to the next.
    expect(resistance).toEqual([...resistance].sort((x, y) => (x ?? 0) - (y ?? 0)));
    expect(assessment.cell.growthAgainstLoss.slope ?? 0).toBeCloseTo(1.5, 1);
  });

  it('leaves measurements that lead back to their fit', async () => {
    const { store } = test.context;
    const [end] = await listMeasurements(store, idOf.a, 'end-of-life');
    expect(end).toMatchObject({ unit: '{cycle}', method: 'crossing of capacity-80-percent-of-rated' });
    expect(end.value).toBeCloseTo(80, -1);
    const [ahead] = await listMeasurements(store, idOf.young, 'end-of-life');
    expect(ahead.standardUncertainty ?? 0).toBeGreaterThan(0);
    const [rate] = await listMeasurements(store, idOf.young, 'fade-rate');
    expect(rate.value ?? 0).toBeGreaterThan(0);
    const origin = await request(test.app).get(api(`/measurements/${end.id}/origin`));
    expect(origin.status).toBe(200);
    expect(origin.body.measurement.fitId).toBe(end.fitId);
  });

  it('supersedes what was assessed before, and keeps it', async () => {
    const before = (await request(test.app).get(api(`/cells/${idOf.a}/ageing`))).body as CellAgeing;
    test.pass(60);
    await assessAgeing(
      test.context,
      lotId,
      settings({ axis: 'equivalent-full-cycles', endOfLife: ['1.7Ah'], lotPrior: false }),
    );
    const after = (await request(test.app).get(api(`/cells/${idOf.a}/ageing`))).body as CellAgeing;
    expect(after.fit.id).not.toBe(before.fit.id);
    expect(after.assessment.axis).toBe('equivalent-full-cycles');
    expect(after.assessment.cell.limits.map(({ name }) => name)).toEqual(['capacity-1.7-Ah']);
    // 88 cycles of a capacity that falls from 2 Ah make fewer than 88 equivalent full cycles of the rated 2 Ah.
    const last = after.assessment.cell.series.x.at(-1) ?? 0;
    expect(last).toBeLessThan(88);
    expect(last).toBeGreaterThan(78);
    const old = await selectOne<{ supersededById: number }>(
      test.context.store,
      'SELECT supersededById FROM Fit WHERE id = ?',
      before.fit.id,
    );
    expect(old?.supersededById).toBe(after.fit.id);
    expect(await listMeasurements(test.context.store, idOf.a, 'end-of-life')).toHaveLength(1);
  });

  it('of one quantity stands beside that of the other, each with its own settings', async () => {
    const read = async (path: string, quantity?: string) =>
      (
        await request(test.app)
          .get(api(path))
          .query(quantity === undefined ? {} : { quantity })
      ).body;
    const own = settings({ axis: 'cycle', endOfLife: ['80%-of-rated'] });
    await assessAgeing(test.context, lotId, own);
    const capacity: LotAgeing = await read(`/lots/${lotId}/ageing`);
    expect(capacity).toMatchObject({ quantity: 'capacity', assessed: ['capacity'] });
    const [fade] = await listMeasurements(test.context.store, idOf.a, 'fade-rate');
    test.pass(60);
    await assessAgeing(
      test.context,
      lotId,
      settings({ quantity: 'resistance', axis: 'equivalent-full-cycles', endOfLife: ['120%'] }),
    );
    const newest: LotAgeing = await read(`/lots/${lotId}/ageing`);
    expect(newest).toMatchObject({ quantity: 'resistance', assessed: ['capacity', 'resistance'] });
    const kept: LotAgeing = await read(`/lots/${lotId}/ageing`, 'capacity');
    expect(kept).toEqual({ ...capacity, assessed: ['capacity', 'resistance'] });
    const cell: CellAgeing = await read(`/cells/${idOf.a}/ageing`, 'capacity');
    expect(cell.fit).toMatchObject({ supersededAt: null });
    expect(cell.assessment.cell).toMatchObject({ quantity: 'capacity', axis: 'cycle' });
    // The rate of fade is that of the capacity's own assessment; of each number there is one valid value.
    expect(await listMeasurements(test.context.store, idOf.a, 'fade-rate')).toEqual([fade]);
    for (const quantity of ['resistance-rise-rate', 'end-of-life'] as const) {
      const valid = await listMeasurements(test.context.store, idOf.a, quantity);
      expect(valid.map(({ efc, cycle }) => [efc !== null, cycle])).toEqual([[true, null]]);
    }
    const set = await request(test.app).get(api(`/parameter-sets/cell/${idOf.a}`));
    expect(set.body.cells[0].ageing.map((one: Record<string, unknown>) => [one.quantity, one.axis])).toEqual([
      ['capacity', 'cycle'],
      ['resistance', 'equivalent-full-cycles'],
    ]);
    const { counts } = await read('/overview');
    expect(counts.ageingSeries).toBe(Object.keys(lives).length);
    // Assessing the capacity again supersedes only the capacity's assessment.
    await assessAgeing(test.context, lotId, own);
    const again: LotAgeing = await read(`/lots/${lotId}/ageing`, 'resistance');
    expect(again.fit.id).toBe(newest.fit.id);
    const { body } = await request(test.app)
      .get(api(`/lots/${lotId}/ageing`))
      .query({ quantity: 'mass' });
    expect(body.errors[0]).toMatchObject({ field: 'quantity', value: '"mass"' });
  });

  it('regresses life on a stress that is given for its cells', async () => {
    const cells = Object.entries(lives).map(([serial, life]) => ({
      cellId: idOf[serial],
      values: [Math.log(life)],
    }));
    const stress = { terms: [{ name: 'charge rate', unit: 'C' }], cells };
    await assessAgeing(test.context, lotId, settings({ stress }));
    const lot = (await request(test.app).get(api(`/lots/${lotId}/ageing`))).body as LotAgeing;
    expect(lot.stress).toMatchObject({
      verdict: 'usable',
      reason: null,
      limitName: 'capacity-80-percent-of-rated',
    });
    expect(lot.stress?.terms[0].coefficient).toBeCloseTo(1, 1);
    expect(lot.stress?.cells).toHaveLength(7);
    const wrong = { ...stress, cells: [{ cellId: idOf.a, values: [1, 2] }] };
    await expect(async () => assessAgeing(test.context, lotId, settings({ stress: wrong }))).rejects.toThrow(
      /has 2 values for 1 terms/,
    );
  });
});
