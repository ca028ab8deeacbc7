import type { Updateable } from 'kysely';
import type { Page } from '../contract/common.ts';
import type { PairingHead, PairState } from '../contract/pairings.ts';
import type { Pair } from './client/types.ts';
import { textAtPath } from './differences.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { unreadable } from './storedJson.ts';

/** A run as stored; `resultJson` holds the result and the measurements it is based on. */
export interface PairingRow {
  readonly id: number;
  readonly lotId: number;
  readonly resultJson: string;
  readonly createdAt: string;
  readonly createdBy: string;
}

/** A cell of a pair. */
export interface PairMember {
  readonly id: number;
  readonly serial: string;
}

/** A pair as stored, with its cells in their order, two or more, and the stack that was made of it. */
export interface PairRow {
  readonly id: number;
  readonly pairingId: number;
  readonly position: number;
  readonly cells: readonly PairMember[];
  readonly cost: number;
  readonly state: PairState;
  readonly reason: string | null;
  readonly detailJson: string;
  readonly version: number;
  readonly stackId: number | null;
}

/** The cells of a pair as people name them. */
export function serialsOf(pair: Pick<PairRow, 'cells'>): string {
  return pair.cells.map(({ serial }) => serial).join(' + ');
}

/** What is stored of a new run. */
export interface NewPairing {
  readonly lotId: number;
  readonly criteriaJson: string;
  readonly resultJson: string;
  readonly algorithm: string;
  readonly algorithmVersion: string;
  readonly unpairedCount: number;
  readonly totalCost: number;
  readonly proven: boolean;
  readonly createdAt: string;
  readonly createdBy: string;
  readonly pairs: readonly {
    readonly cellIds: readonly number[];
    readonly cost: number;
    readonly detailJson: string;
  }[];
}

/** Stores a run with its pairs; to be called inside a transaction. */
export async function insertPairing(
  store: Store,
  { pairs, proven, ...pairing }: NewPairing,
): Promise<number> {
  const { id } = await store.db
    .insertInto('Pairing')
    .values({ ...pairing, pairCount: pairs.length, proven: proven ? 1 : 0 })
    .returning('id')
    .executeTakeFirstOrThrow();
  for (const [position, pair] of pairs.entries()) {
    const { cellIds, cost, detailJson } = pair;
    const { id: pairId } = await store.db
      .insertInto('Pair')
      .values({ pairingId: id, position, cost, detailJson })
      .returning('id')
      .executeTakeFirstOrThrow();
    await insertMembers(store, pairId, cellIds);
  }
  return id;
}

async function insertMembers(store: Store, pairId: number, cellIds: readonly number[]): Promise<void> {
  await store.db
    .insertInto('PairCell')
    .values(cellIds.map((cellId, position) => ({ pairId, position, cellId })))
    .execute();
}

export async function findPairingRow(store: Store, id: number): Promise<PairingRow | null> {
  const row = await store.db
    .selectFrom('Pairing')
    .select(['id', 'lotId', 'resultJson', 'createdAt', 'createdBy'])
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

/** Pairs with their cells, one row for each cell: one statement, so that they belong together. */
function memberRows(store: Store) {
  return store.db
    .selectFrom('Pair as p')
    .innerJoin('PairCell as k', 'k.pairId', 'p.id')
    .innerJoin('Cell as c', 'c.id', 'k.cellId')
    .leftJoin('Stack as s', 's.pairId', 'p.id')
    .select(['p.id', 'p.pairingId', 'p.position', 'p.cost', 'p.state', 'p.reason', 'p.version'])
    .select(['k.cellId', 'c.serial', 's.id as stackId'])
    .select(({ eb }) =>
      // The document is long, and one row of a pair is enough for it.
      eb.case().when('k.position', '=', 0).then(eb.ref('p.detailJson')).else('').end().as('detailJson'),
    )
    .orderBy('p.pairingId')
    .orderBy('p.position')
    .orderBy('k.position');
}

async function readPairs(query: ReturnType<typeof memberRows>): Promise<PairRow[]> {
  const pairs = new Map<number, PairRow & { readonly cells: PairMember[] }>();
  for (const { cellId, serial, ...row } of await query.execute()) {
    const pair = pairs.get(row.id) ?? { ...row, cells: [] };
    pair.cells.push({ id: cellId, serial });
    pairs.set(row.id, pair);
  }
  return [...pairs.values()];
}

/** The pairs of a run in their order. */
export async function listPairRows(store: Store, pairingId: number): Promise<PairRow[]> {
  return readPairs(memberRows(store).where('p.pairingId', '=', pairingId));
}

export async function findPairRow(store: Store, id: number): Promise<PairRow | null> {
  const [pair] = await readPairs(memberRows(store).where('p.id', '=', id));
  return pair ?? null;
}

/** The pairs of a lot that were accepted or built, in the order they were made. */
export async function listStandingPairs(store: Store, lotId: number): Promise<PairRow[]> {
  return readPairs(
    memberRows(store)
      .where('p.state', 'in', ['accepted', 'built'])
      .where('p.pairingId', 'in', ({ selectFrom }) =>
        selectFrom('Pairing').select('Pairing.id').where('lotId', '=', lotId),
      ),
  );
}

/** Accepted pairs, of any run, that hold one of a pair's cells, besides the given pair itself. */
export async function listRivalPairs(store: Store, pair: PairRow): Promise<PairRow[]> {
  const cells = pair.cells.map(({ id }) => id);
  return readPairs(
    memberRows(store)
      .where('p.id', '<>', pair.id)
      .where('p.state', '=', 'accepted')
      .where('p.id', 'in', ({ selectFrom }) =>
        selectFrom('PairCell').select('pairId').where('cellId', 'in', cells),
      ),
  );
}

/** Cells that stand in an accepted pair, of any run, whose stack is not planned yet. */
export async function listAcceptedCells(store: Store): Promise<Set<number>> {
  const rows = await store.db
    .selectFrom('PairCell as k')
    .innerJoin('Pair as p', 'p.id', 'k.pairId')
    .select('k.cellId')
    .where('p.state', '=', 'accepted')
    .execute();
  return new Set(rows.map(({ cellId }) => cellId));
}

/** Changes a pair and counts its version up. */
async function changePair(store: Store, id: number, fields: Updateable<Pair>): Promise<void> {
  await store.db
    .updateTable('Pair')
    .set(({ eb }) => ({ ...fields, version: eb('version', '+', 1) }))
    .where('id', '=', id)
    .execute();
}

export async function setPairState(
  store: Store,
  id: number,
  state: PairState,
  reason: string | null,
): Promise<void> {
  await changePair(store, id, { state, reason });
}

/** Counts a pair's version up where its stack comes or goes, so that readers of the run notice. */
export async function touchPair(store: Store, id: number): Promise<void> {
  await changePair(store, id, {});
}

/** Gives a pair other cells, with what was computed for them. */
export async function setPairCells(
  store: Store,
  id: number,
  pair: {
    readonly cellIds: readonly number[];
    readonly cost: number;
    readonly detailJson: string;
  },
): Promise<void> {
  const { cellIds, cost, detailJson } = pair;
  await store.db.deleteFrom('PairCell').where('pairId', '=', id).execute();
  await insertMembers(store, id, cellIds);
  await changePair(store, id, { cost, detailJson });
}

interface HeadRow extends Omit<PairingHead, 'counts' | 'proven' | 'name'> {
  /** Null where the criteria cannot be read. */
  readonly name: string | null;
  readonly proven: number;
  readonly proposed: number;
  readonly accepted: number;
  readonly rejected: number;
  readonly built: number;
  readonly unpaired: number;
}

function heads(store: Store) {
  return store.db
    .selectFrom('Pairing as g')
    .innerJoin('Lot as l', 'l.id', 'g.lotId')
    .select(['g.id', 'g.lotId', 'l.name as lotName', 'g.createdAt', 'g.createdBy'])
    .select(['g.unpairedCount as unpaired', 'g.totalCost', 'g.proven'])
    .select(({ ref, selectFrom }) => {
      const inState = (state: PairState) =>
        selectFrom('Pair as p')
          .select(({ fn }) => fn.countAll<number>().as('n'))
          .whereRef('p.pairingId', '=', 'g.id')
          .where('p.state', '=', state)
          .$asScalar()
          .$notNull();
      return [
        textAtPath<string | null>(ref('g.criteriaJson'), ['name']).as('name'),
        inState('proposed').as('proposed'),
        inState('accepted').as('accepted'),
        inState('rejected').as('rejected'),
        inState('built').as('built'),
      ];
    });
}

function presentHead(row: HeadRow): PairingHead {
  const { proposed, accepted, rejected, built, unpaired, proven, name, ...head } = row;
  if (name === null) throw unreadable(`criteria of pairing ${row.id}`, 'it has no name');
  return { ...head, name, proven: proven !== 0, counts: { proposed, accepted, rejected, built, unpaired } };
}

/** A page of runs, newest first. */
export async function pagePairings(
  store: Store,
  query: { cursor?: string; limit: number; lotId?: number },
): Promise<Page<PairingHead>> {
  const { lotId, cursor, limit } = query;
  return readPage<HeadRow, PairingHead>(store, {
    matching: matchingIds(store.db.selectFrom('Pairing').select('id'), { lotId }),
    rows: (ids) => heads(store).where('g.id', 'in', ids).execute(),
    present: presentHead,
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}
