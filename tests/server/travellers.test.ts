import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeStack } from '../support/loggedStack.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

let test: TestApp;
beforeAll(async () => {
  test = await openTestApp();
});
afterAll(() => test.close());

const keep = (stackId: number, body: unknown) =>
  request(test.app)
    .post(`/api/v1/stacks/${stackId}/travellers`)
    .send(body as object);
const get = async (path: string) => (await request(test.app).get(`/api/v1${path}`)).body;

describe('the results of a traveller', () => {
  it('are kept with the stack, and each voltage becomes a measurement of its cell', async () => {
    const { stackId, cellIds } = await makeStack(test.context, 'T-1');
    const [a, b] = cellIds;
    const answer = await keep(stackId, {
      cells: [
        { cellId: a, serialRead: 'T-1-A', openCircuitVoltageV: 3.712, chargerVoltageV: 3.711 },
        { cellId: b, openCircuitVoltageV: 3.709 },
      ],
      jointsOhm: 0.00042,
      steps: ['no-damage', 'sense-wire-joined'],
    });
    expect(answer.status).toBe(201);
    expect(answer.body.items).toMatchObject([
      {
        cells: [
          { serial: 'T-1-A', serialRead: true, openCircuitVoltageV: 3.712, chargerVoltageV: 3.711 },
          { serial: 'T-1-B', serialRead: false, openCircuitVoltageV: 3.709, chargerVoltageV: null },
        ],
        jointsOhm: 0.00042,
        steps: ['no-damage', 'sense-wire-joined'],
      },
    ]);
    const { items } = await get(`/cells/${a}/measurements`);
    expect(items).toMatchObject(
      [
        { quantity: 'ocv', unit: 'V', value: 3.711, method: 'traveller: seen by the charger' },
        { quantity: 'ocv', unit: 'V', value: 3.712, method: 'traveller: open circuit' },
      ].toSorted(
        (x, y) =>
          items.findIndex((m: { value: number }) => m.value === x.value) -
          items.findIndex((m: { value: number }) => m.value === y.value),
      ),
    );
    for (const one of items)
      expect(one).toMatchObject({
        standardUncertainty: null,
        reason: 'uncertainty-not-stated',
        excludedReason: 'soc-not-stated',
      });
    // It is no note, and is compared with no other cell of the lot.
    expect((await get(`/stacks/${stackId}/notes`)).items).toEqual([]);
    const { lotId } = await get(`/cells/${a}`);
    expect((await get(`/lots/${lotId}/columns`)).columns).toEqual([]);
    expect((await get(`/stacks/${stackId}/history`)).items[0].action).toBe('stack.traveller');
  });

  it('are refused whole where a field cannot be, each named with what is expected', async () => {
    const { stackId, cellIds } = await makeStack(test.context, 'T-2');
    const answer = await keep(stackId, {
      cells: [
        { cellId: cellIds[0], serialRead: 'T-2-B', openCircuitVoltageV: 7.4 },
        { cellId: cellIds[0], chargerVoltageV: 3.7 },
        { cellId: 999, chargerVoltageV: 3.7 },
      ],
    });
    expect(answer.status).toBe(400);
    expect(answer.body.errors).toMatchObject([
      { field: 'cells.0.serialRead', value: 'T-2-B', expected: 'the serial T-2-A' },
      {
        field: 'cells.0.openCircuitVoltageV',
        value: '7.4',
        reason: 'is outside the limits of the chemistry',
      },
      { field: 'cells.1.cellId', reason: 'is named twice' },
      { field: 'cells.2.cellId', reason: 'is not in this stack' },
    ]);
    for (const body of [{}, { cells: [{ cellId: cellIds[0] }] }])
      expect((await keep(stackId, body)).body.errors).toMatchObject([{ reason: 'holds no result' }]);
    expect((await get(`/stacks/${stackId}/travellers`)).items).toEqual([]);
    expect((await get(`/cells/${cellIds[0]}/measurements`)).items).toEqual([]);
    expect((await keep(9999, { jointsOhm: 0.001 })).status).toBe(404);
  });

  it('hold the resistance of each joint of a longer stack, and their sum where none is missing', async () => {
    const { stackId } = await makeStack(test.context, 'T-3', ['A', 'B', 'C', 'D']);
    const joints = [
      { after: 3, ohm: 0.0009 },
      { after: 1, ohm: 0.0004 },
    ];
    const some = await keep(stackId, { joints });
    expect(some.status).toBe(201);
    expect(some.body.items[0]).toMatchObject({ jointsOhm: null, joints: [joints[1], joints[0]] });
    const all = (await keep(stackId, { joints: [...joints, { after: 2, ohm: 0.0005 }] })).body.items[0];
    expect(all.joints.map((one: { after: number }) => one.after)).toEqual([1, 2, 3]);
    expect(all.jointsOhm).toBeCloseTo(0.0018, 12);
    expect((await get(`/stacks/${stackId}/travellers`)).items).toHaveLength(2);
  });

  it('name the joint that is not in the stack, that is named twice, or that is also in the sum', async () => {
    const { stackId } = await makeStack(test.context, 'T-4', ['A', 'B', 'C']);
    const joint = { after: 2, ohm: 0.0005 };
    expect(
      (await keep(stackId, { joints: [joint, joint, { after: 3, ohm: 0.0005 }] })).body.errors,
    ).toMatchObject([
      { field: 'joints.1.after', reason: 'is named twice' },
      { field: 'joints.2.after', reason: 'is no joint of this stack', expected: 'each joint once: 1 to 2' },
    ]);
    expect((await keep(stackId, { jointsOhm: 0.001, joints: [joint] })).body.errors).toMatchObject([
      { field: 'jointsOhm', reason: 'is given beside single joints' },
    ]);
  });
});
