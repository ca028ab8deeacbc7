import type { Page } from '../contract/common.ts';
import type { ChangeLot, CreateLot, Lot } from '../contract/lots.ts';
import { readPage } from './page.ts';
import { changeRow, insertRow } from './rows.ts';
import type { SqlStore, SqlValue, Store } from './store.ts';
import { hasSweeps } from './sweeps.ts';

interface LotRow extends Omit<Lot, 'counts'> {
  cells: number;
  availableCells: number;
  tests: number;
  testsNotEvaluated: number;
  pairings: number;
  stacks: number;
}

const columns = `l.id, l.name, l.cellTypeId, l.receivedOn, l.note, l.createdAt, l.version, t.name AS cellTypeName,
  t.ratedCapacityAh,
  (SELECT COUNT(*) FROM Cell c WHERE c.lotId = l.id) AS cells,
  (SELECT COUNT(*) FROM Cell c WHERE c.lotId = l.id AND c.state = 'available') AS availableCells,
  (SELECT COUNT(*) FROM Cell c JOIN Test x ON x.cellId = c.id AND x.state = 'sealed' WHERE c.lotId = l.id) AS tests,
  (SELECT COUNT(*) FROM Test x JOIN Cell c ON c.id = x.cellId WHERE c.lotId = l.id AND x.state = 'sealed' AND x.evaluatedAt IS NULL
     AND (EXISTS (SELECT 1 FROM Record r WHERE r.testId = x.id) OR ${hasSweeps})) AS testsNotEvaluated,
  (SELECT COUNT(*) FROM Pairing p WHERE p.lotId = l.id) AS pairings,
  (SELECT COUNT(DISTINCT s.stackId) FROM StackCell s JOIN Cell c ON c.id = s.cellId WHERE c.lotId = l.id) AS stacks`;
const from = 'Lot l JOIN CellType t ON t.id = l.cellTypeId';

function present(row: LotRow): Lot {
  const { cells, availableCells, tests, testsNotEvaluated, pairings, stacks, ...lot } = row;
  return { ...lot, counts: { cells, availableCells, tests, testsNotEvaluated, pairings, stacks } };
}

/** A page of the lots, newest first. */
export async function pageLots(
  store: Store,
  query: { cursor?: string; limit: number; search?: string; cellTypeId?: number },
): Promise<Page<Lot>> {
  const where: string[] = [];
  const values: SqlValue[] = [];
  if (query.search !== undefined) {
    where.push('instr(lower(l.name), lower(?)) > 0');
    values.push(query.search);
  }
  if (query.cellTypeId !== undefined) {
    where.push('l.cellTypeId = ?');
    values.push(query.cellTypeId);
  }
  return readPage<LotRow, Lot>(
    store,
    {
      select: columns,
      from,
      where,
      values,
      idColumn: 'l.id',
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => present(row),
  );
}

export async function findLot(store: SqlStore, id: number): Promise<Lot | null> {
  const row = await store.get<LotRow>(`SELECT ${columns} FROM ${from} WHERE l.id = ?`, id);
  return row ? present(row) : null;
}

export async function findLotByName(store: SqlStore, name: string): Promise<Lot | null> {
  const row = await store.get<LotRow>(`SELECT ${columns} FROM ${from} WHERE l.name = ?`, name);
  return row ? present(row) : null;
}

const changeable = ['name', 'cellTypeId', 'receivedOn', 'note'] as const;

export async function insertLot(store: SqlStore, fields: CreateLot, createdAt: string): Promise<number> {
  return insertRow(store, 'Lot', [...changeable, 'createdAt'], { ...fields, createdAt });
}

/** Changes a lot where it still has the version; returns whether it had. */
export async function updateLot(
  store: SqlStore,
  id: number,
  version: number,
  fields: ChangeLot,
): Promise<boolean> {
  return changeRow(store, 'Lot', changeable, { id, version, fields });
}

/** Removes a lot that holds nothing; returns whether it did. */
export async function deleteEmptyLot(store: Store, id: number, version: number): Promise<boolean> {
  return (
    (
      await store.run(
        `DELETE FROM Lot WHERE id = ? AND version = ? AND NOT EXISTS (SELECT 1 FROM Cell c WHERE c.lotId = Lot.id)`,
        id,
        version,
      )
    ).changes === 1
  );
}
