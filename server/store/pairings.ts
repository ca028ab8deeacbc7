import type { Page } from '../contract/common.ts';
import type { PairingHead, PairState } from '../contract/pairings.ts';
import { readPage } from './page.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';

/** A run as stored; `resultJson` holds the result and the measurements it rests on. */
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
export async function insertPairing(store: SqlStore, pairing: NewPairing): Promise<number> {
  const { id } = await store.run(
    `INSERT INTO Pairing (lotId, criteriaJson, resultJson, algorithm, algorithmVersion, pairCount, unpairedCount,
       totalCost, proven, createdAt, createdBy) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    pairing.lotId,
    pairing.criteriaJson,
    pairing.resultJson,
    pairing.algorithm,
    pairing.algorithmVersion,
    pairing.pairs.length,
    pairing.unpairedCount,
    pairing.totalCost,
    pairing.proven ? 1 : 0,
    pairing.createdAt,
    pairing.createdBy,
  );
  for (const [position, { cellAId, cellBId, cost, detailJson }] of pairing.pairs.entries()) {
    await store.run(
      'INSERT INTO Pair (pairingId, position, cellAId, cellBId, cost, detailJson) VALUES (?, ?, ?, ?, ?, ?)',
      id,
      position,
      cellAId,
      cellBId,
      cost,
      detailJson,
    );
  }
  return id;
}

export async function findPairingRow(store: SqlStore, id: number): Promise<PairingRow | null> {
  return (
    (await store.get<PairingRow>(
      'SELECT id, lotId, resultJson, createdAt, createdBy FROM Pairing WHERE id = ?',
      id,
    )) ?? null
  );
}

const pairColumns = `p.id, p.pairingId, p.position, p.cellAId, a.serial AS serialA, p.cellBId, b.serial AS serialB,
  p.cost, p.state, p.reason, p.detailJson, p.version, s.id AS stackId`;
const pairFrom = `Pair p JOIN Cell a ON a.id = p.cellAId JOIN Cell b ON b.id = p.cellBId
  LEFT JOIN Stack s ON s.pairId = p.id`;

/** The pairs of a run in their order. */
export async function listPairRows(store: SqlStore, pairingId: number): Promise<PairRow[]> {
  return store.all<PairRow>(
    `SELECT ${pairColumns} FROM ${pairFrom} WHERE p.pairingId = ? ORDER BY p.position`,
    pairingId,
  );
}

export async function findPairRow(store: SqlStore, id: number): Promise<PairRow | null> {
  return (await store.get<PairRow>(`SELECT ${pairColumns} FROM ${pairFrom} WHERE p.id = ?`, id)) ?? null;
}

/** Accepted or built pairs, of any run, that hold one of two cells, besides the given pair itself. */
export async function listRivalPairs(store: SqlStore, pair: PairRow): Promise<PairRow[]> {
  return store.all<PairRow>(
    `SELECT ${pairColumns} FROM ${pairFrom} WHERE p.id <> ? AND p.state = 'accepted'
       AND (p.cellAId IN (?, ?) OR p.cellBId IN (?, ?)) ORDER BY p.id`,
    pair.id,
    pair.cellAId,
    pair.cellBId,
    pair.cellAId,
    pair.cellBId,
  );
}

/** Cells that stand in an accepted pair, of any run, whose stack is not planned yet. */
export async function listAcceptedCells(store: SqlStore): Promise<Set<number>> {
  const rows = await store.all<{ cellAId: number; cellBId: number }>(
    `SELECT p.cellAId, p.cellBId FROM Pair p WHERE p.state = 'accepted'`,
  );
  return new Set(rows.flatMap(({ cellAId, cellBId }) => [cellAId, cellBId]));
}

export async function setPairState(
  store: SqlStore,
  id: number,
  state: PairState,
  reason: string | null,
): Promise<void> {
  await store.run(
    'UPDATE Pair SET state = ?, reason = ?, version = version + 1 WHERE id = ?',
    state,
    reason,
    id,
  );
}

/** Counts a pair's version up where its stack comes or goes, so that readers of the run notice. */
export async function touchPair(store: SqlStore, id: number): Promise<void> {
  await store.run('UPDATE Pair SET version = version + 1 WHERE id = ?', id);
}

/** Gives a pair other cells, with what was computed for them. */
export async function setPairCells(
  store: SqlStore,
  id: number,
  pair: {
    readonly cellAId: number;
    readonly cellBId: number;
    readonly cost: number;
    readonly detailJson: string;
  },
): Promise<void> {
  await store.run(
    'UPDATE Pair SET cellAId = ?, cellBId = ?, cost = ?, detailJson = ?, version = version + 1 WHERE id = ?',
    pair.cellAId,
    pair.cellBId,
    pair.cost,
    pair.detailJson,
    id,
  );
}

interface HeadRow extends Omit<PairingHead, 'counts' | 'proven'> {
  readonly proven: number;
  readonly proposed: number;
  readonly accepted: number;
  readonly rejected: number;
  readonly built: number;
  readonly unpaired: number;
}

const counted = (state: PairState) =>
  `(SELECT COUNT(*) FROM Pair p WHERE p.pairingId = g.id AND p.state = '${state}') AS ${state}`;

/** A page of runs, newest first. */
export async function pagePairings(
  store: Store,
  query: { cursor?: string; limit: number; lotId?: number },
): Promise<Page<PairingHead>> {
  const values: SqlValue[] = query.lotId === undefined ? [] : [query.lotId];
  return readPage<HeadRow, PairingHead>(
    store,
    {
      select: `g.id, json_extract(g.criteriaJson, '$.name') AS name, g.lotId, l.name AS lotName, g.createdAt, g.createdBy,
        g.unpairedCount AS unpaired, g.totalCost, g.proven, ${counted('proposed')}, ${counted('accepted')},
        ${counted('rejected')}, ${counted('built')}`,
      from: 'Pairing g JOIN Lot l ON l.id = g.lotId',
      where: query.lotId === undefined ? [] : ['g.lotId = ?'],
      values,
      idColumn: 'g.id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    ({ proposed, accepted, rejected, built, unpaired, proven, ...head }) => ({
      ...head,
      proven: proven !== 0,
      counts: { proposed, accepted, rejected, built, unpaired },
    }),
  );
}
