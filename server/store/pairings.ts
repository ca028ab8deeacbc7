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

/** A pair as stored, with the serials of its cells and the stack that was made of it. */
export interface PairRow {
  readonly id: number;
  readonly pairingId: number;
  readonly position: number;
  readonly cellAId: number;
  readonly serialA: string;
  readonly cellBId: number;
  readonly serialB: string;
  readonly cost: number;
  readonly state: PairState;
  readonly reason: string | null;
  readonly detailJson: string;
  readonly version: number;
  readonly stackId: number | null;
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
    readonly cellAId: number;
    readonly cellBId: number;
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
    const { cellAId, cellBId, cost, detailJson } = pair;
    await store.db
      .insertInto('Pair')
      .values({ pairingId: id, position, cellAId, cellBId, cost, detailJson })
      .execute();
  }
  return id;
}

export async function findPairingRow(store: Store, id: number): Promise<PairingRow | null> {
  const row = await store.db
    .selectFrom('Pairing')
    .select(['id', 'lotId', 'resultJson', 'createdAt', 'createdBy'])
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

function pairRows(store: Store) {
  return store.db
    .selectFrom('Pair as p')
    .innerJoin('Cell as a', 'a.id', 'p.cellAId')
    .innerJoin('Cell as b', 'b.id', 'p.cellBId')
    .leftJoin('Stack as s', 's.pairId', 'p.id')
    .select(['p.id', 'p.pairingId', 'p.position', 'p.cellAId', 'a.serial as serialA', 'p.cellBId'])
    .select(['b.serial as serialB', 'p.cost', 'p.state', 'p.reason', 'p.detailJson', 'p.version'])
    .select('s.id as stackId');
}

/** The pairs of a run in their order. */
export async function listPairRows(store: Store, pairingId: number): Promise<PairRow[]> {
  return pairRows(store).where('p.pairingId', '=', pairingId).orderBy('p.position').execute();
}

export async function findPairRow(store: Store, id: number): Promise<PairRow | null> {
  return (await pairRows(store).where('p.id', '=', id).executeTakeFirst()) ?? null;
}

/** Accepted pairs, of any run, that hold one of two cells, besides the given pair itself. */
export async function listRivalPairs(store: Store, pair: PairRow): Promise<PairRow[]> {
  const cells = [pair.cellAId, pair.cellBId];
  return pairRows(store)
    .where('p.id', '<>', pair.id)
    .where('p.state', '=', 'accepted')
    .where(({ or, eb }) => or([eb('p.cellAId', 'in', cells), eb('p.cellBId', 'in', cells)]))
    .orderBy('p.id')
    .execute();
}

/** Cells that stand in an accepted pair, of any run, whose stack is not planned yet. */
export async function listAcceptedCells(store: Store): Promise<Set<number>> {
  const rows = await store.db
    .selectFrom('Pair')
    .select(['cellAId', 'cellBId'])
    .where('state', '=', 'accepted')
    .execute();
  return new Set(rows.flatMap(({ cellAId, cellBId }) => [cellAId, cellBId]));
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
    readonly cellAId: number;
    readonly cellBId: number;
    readonly cost: number;
    readonly detailJson: string;
  },
): Promise<void> {
  const { cellAId, cellBId, cost, detailJson } = pair;
  await changePair(store, id, { cellAId, cellBId, cost, detailJson });
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
