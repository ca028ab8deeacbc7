import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { CompiledQuery } from 'kysely';
import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { StoredPair, StoredPairing } from '../../server/contract/pairings.ts';
import { migrationNames, migrationsFolder } from '../../server/store/migrations.ts';
import { listPairRows } from '../../server/store/pairings.ts';
import { runPairing } from '../../server/use-cases/pairing/runPairing.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { type MadeCell, makeMeasuredLot, usualCriteria } from './pairedLot.ts';

/** Three groups of three that are clear to see, and a cell of its own. */
const cells: readonly MadeCell[] = [
  ['a', 2.5, 0.02],
  ['d', 2.55, 0.022],
  ['g', 2.45, 0.018],
  ['b', 2.501, 0.0201],
  ['e', 2.551, 0.0221],
  ['h', 2.452, 0.0181],
  ['c', 2.503, 0.0203],
  ['f', 2.554, 0.0222],
  ['i', 2.453, 0.0183],
  ['j', 2.52, 0.0205],
];

let test: TestApp;
let lotId: number;
let idOf: Record<string, number>;
let run: StoredPairing;
beforeAll(async () => {
  test = await openTestApp();
  ({ lotId, idOf } = await makeMeasuredLot(test, cells));
  run = await runPairing(test.context, {
    lotIds: [lotId],
    cellIds: [],
    criteria: usualCriteria({ cellsPerStack: 3 }),
  });
});
afterAll(async () => test.close());

const api = (path: string) => `/api/v1${path}`;
const read = async (): Promise<StoredPairing> =>
  (await request(test.app).get(api(`/pairings/${run.id}`))).body;
const serials = (pair: StoredPair) => pair.cells.map(({ serial }) => serial).join('');
const decide = async (pair: StoredPair, state: string) =>
  request(test.app)
    .patch(api(`/pairs/${pair.id}`))
    .set('If-Match', `"${pair.version}"`)
    .send({ state });

describe('groups of three cells in series', () => {
  it('are kept with all their cells, the differences of the farthest two and what the stack will do', () => {
    expect(run.pairs.map(serials).sort()).toEqual(['abc', 'def', 'ghi']);
    expect(run.result.unpaired).toMatchObject([{ cell: 'j', reason: 'outside-full-groups' }]);
    const { detail } = run.pairs.find((pair) => serials(pair) === 'abc')!;
    const [capacity, resistance] = detail.differences;
    expect(capacity.difference).toBeCloseTo(0.003, 12);
    expect(capacity.standardUncertainty).toBeCloseTo(0.004 * Math.SQRT2, 12);
    expect(resistance.difference).toBeCloseTo(0.0003, 12);
    // Every two of the three: (1² + 2² + 3²) (1 mAh / tolerance)², the tolerance 1 % of the median.
    const tolerance = run.result.features[0].tolerance;
    expect(capacity.cost).toBeCloseTo(14 * (0.001 / tolerance) ** 2, 9);
    expect(detail.consequences).toMatchObject({
      usableCapacityAh: 2.5,
      limitsDischarge: 'a',
      limitsCharge: 'c',
    });
    expect(detail.consequences.capacityLossAh).toBeCloseTo(2.504 / 3 + 5 / 3 - 2.5, 9);
    // 4 A through 0.3 milliohm.
    expect(detail.consequences.voltageDifferenceV).toBeCloseTo(0.0012, 12);
  });

  it('are never called proven, with a bound that no grouping can be below', () => {
    const { certificate, totalCost } = run.result;
    expect(certificate).toMatchObject({ proven: false, reason: 'heuristic' });
    expect(certificate.lowerBound!).toBeLessThanOrEqual(totalCost);
    expect(certificate.lowerBound!).toBeGreaterThan(0);
  });

  it('exchange named cells and go back by the same', async () => {
    const [first, second] = run.pairs;
    const swap = async (version: number, cellId: number, withCellId: number) =>
      request(test.app)
        .post(api(`/pairings/${run.id}/swap`))
        .set('If-Match', `"${version}"`)
        .send({ pairId: first.id, withPairId: second.id, cellId, withCellId });
    const [mine, theirs] = [first.cells[0], second.cells[1]];
    const swapped = await swap(run.version, mine.id, theirs.id);
    expect(swapped.status).toBe(200);
    const pairs: StoredPair[] = swapped.body.pairs;
    expect(pairs[0].cells.map(({ id }) => id)).toEqual([theirs.id, first.cells[1].id, first.cells[2].id]);
    expect(pairs[1].cells.map(({ id }) => id)).toEqual([second.cells[0].id, mine.id, second.cells[2].id]);
    expect(pairs.slice(0, 2).every(({ exchanged }) => exchanged)).toBe(true);
    const wrong = await swap(swapped.body.version, mine.id, theirs.id);
    expect(wrong.body).toMatchObject({ status: 400, errors: [{ field: 'cellId', value: `${mine.id}` }] });
    const back = await swap(swapped.body.version, theirs.id, mine.id);
    expect(back.body.pairs.map(serials)).toEqual(run.pairs.map(serials));
    expect(back.body.pairs.some(({ exchanged }: StoredPair) => exchanged)).toBe(false);
  });

  it('are accepted once, and no other group may take one of their cells', async () => {
    const other = await runPairing(test.context, {
      lotIds: [],
      cellIds: ['a', 'd', 'g', 'j'].map((serial) => idOf[serial]),
      criteria: usualCriteria({ cellsPerStack: 4, outlierLimit: null }),
    });
    expect(other.pairs.map(({ cells }) => cells.length)).toEqual([4]);
    const group = (await read()).pairs.find((pair) => serials(pair) === 'abc')!;
    expect((await decide(group, 'accepted')).body).toMatchObject({ state: 'accepted', cells: group.cells });
    const rival = await decide(other.pairs[0], 'accepted');
    expect(rival.status).toBe(409);
    expect(rival.body.detail).toBe('a + b + c is accepted already and holds one of the cells.');
    expect((await decide(other.pairs[0], 'rejected')).body.state).toBe('rejected');
    const further = await runPairing(test.context, {
      lotIds: [lotId],
      cellIds: [],
      criteria: usualCriteria({ cellsPerStack: 3 }),
    });
    expect(further.pairs.map(serials).sort()).toEqual(['def', 'ghi']);
  });

  it('become a stack of three whose cells are taken and shown with the group', async () => {
    const group = (await read()).pairs.find((pair) => serials(pair) === 'abc')!;
    const made = await request(test.app).post(api('/stacks')).send({ pairId: group.id });
    expect(made.status).toBe(201);
    expect(made.body).toMatchObject({ name: 'a + b + c', state: 'planned', pairingId: run.id });
    expect(made.body.cells.map(({ serial }: { serial: string }) => serial)).toEqual(['a', 'b', 'c']);
    for (const serial of 'abc')
      expect((await request(test.app).get(api(`/cells/${idOf[serial]}`))).body.state).toBe('in-stack');
    const built = await request(test.app)
      .patch(api(`/stacks/${made.body.id}`))
      .set('If-Match', `"${made.body.version}"`)
      .send({ state: 'built' });
    expect(built.status).toBe(200);
    expect((await read()).pairs.find(({ id }) => id === group.id)).toMatchObject({
      state: 'built',
      stackId: made.body.id,
    });
  });

  it('are counted before they are formed, and refused where a pair alone can be meant', async () => {
    const preview = async (change: object) =>
      request(test.app)
        .post(api('/pairings/preview'))
        .send({ lotIds: [lotId], criteria: usualCriteria({ cellsPerStack: 3, ...change }) });
    expect((await preview({})).body).toMatchObject({ mostPairs: 2 });
    const refused = await preview({
      objective: 'least-worst-then-total',
      locks: { together: [['d', 'e']] },
    });
    expect(refused.status).toBe(422);
    expect(refused.body.errors.map(({ field }: { field: string }) => field)).toEqual([
      'locks.together',
      'objective',
    ]);
  });
});

it('pairs of an earlier version keep their two cells in their order', async () => {
  const { store } = test.context;
  const pairs = await runPairing(test.context, { lotIds: [lotId], cellIds: [], criteria: usualCriteria() });
  const before = await listPairRows(store, pairs.id);
  expect(before.length).toBeGreaterThan(2);
  await store.db.deleteFrom('Pairing').where('id', '<>', pairs.id).execute();
  const earlier = ['cellAId', 'cellBId'].flatMap((column, position) => [
    `ALTER TABLE "Pair" ADD COLUMN "${column}" BIGINT REFERENCES "Cell"("id")`,
    `CREATE INDEX "Pair_${column}_idx" ON "Pair"("${column}")`,
    `UPDATE "Pair" SET "${column}" = (SELECT "cellId" FROM "PairCell" WHERE "pairId" = "id" AND "position" = ${position})`,
  ]);
  const { place } = store;
  const name = migrationNames(place.kind).find((each) => each.endsWith('_pair_cells')) ?? '';
  const text = readFileSync(join(migrationsFolder(place.kind), name, 'migration.sql'), 'utf8');
  const statements = [...earlier, 'DROP TABLE "PairCell"', text].join(';\n');
  if (place.kind === 'sqlite') {
    const connection = new Database(place.file);
    connection.pragma('foreign_keys = OFF');
    connection.exec(statements);
    expect(connection.pragma('foreign_key_check')).toEqual([]);
    connection.close();
  } else {
    await store.db.executeQuery(CompiledQuery.raw(statements));
  }
  expect(await listPairRows(store, pairs.id)).toEqual(before);
});
