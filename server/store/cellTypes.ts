import type { CellType, ChangeCellType, CreateCellType } from '../contract/cellTypes.ts';
import type { Page } from '../contract/common.ts';
import { readPage } from './page.ts';
import { changeRow } from './rows.ts';
import type { Store } from './store.ts';

interface CellTypeRow extends Omit<CellType, 'limits'> {
  chemistryChargeVoltageLimitV: number;
  chemistryDischargeCutoffV: number;
  chemistryChargeTemperatureMinC: number;
  chemistryChargeTemperatureMaxC: number;
  usualChargeRateC: number;
}

function present(row: CellTypeRow): CellType {
  const {
    chemistryChargeVoltageLimitV,
    chemistryDischargeCutoffV,
    chemistryChargeTemperatureMinC,
    chemistryChargeTemperatureMaxC,
    usualChargeRateC,
    ...cellType
  } = row;
  return {
    ...cellType,
    limits: {
      chargeVoltageLimitV: cellType.chargeVoltageLimitV ?? chemistryChargeVoltageLimitV,
      dischargeCutoffV: cellType.dischargeCutoffV ?? chemistryDischargeCutoffV,
      chargeTemperatureMinC: cellType.chargeTemperatureMinC ?? chemistryChargeTemperatureMinC,
      chargeTemperatureMaxC: cellType.chargeTemperatureMaxC ?? chemistryChargeTemperatureMaxC,
      maxChargeCurrentA: cellType.maxChargeCurrentA ?? usualChargeRateC * cellType.ratedCapacityAh,
      maxChargeCurrentBasis: cellType.maxChargeCurrentA === null ? 'common-practice' : 'datasheet',
    },
  };
}

function cellTypes(store: Store) {
  return store.db
    .selectFrom('CellType as t')
    .innerJoin('Chemistry as k', 'k.id', 't.chemistryId')
    .selectAll('t')
    .select([
      'k.name as chemistryName',
      'k.chargeVoltageLimitV as chemistryChargeVoltageLimitV',
      'k.dischargeCutoffV as chemistryDischargeCutoffV',
      'k.chargeTemperatureMinC as chemistryChargeTemperatureMinC',
      'k.chargeTemperatureMaxC as chemistryChargeTemperatureMaxC',
      'k.usualChargeRateC',
    ])
    .select(({ selectFrom }) =>
      selectFrom('Lot as l')
        .select(({ fn }) => fn.countAll<number>().as('n'))
        .whereRef('l.cellTypeId', '=', 't.id')
        .$asScalar()
        .$notNull()
        .as('lotCount'),
    );
}

/** A page of the cell types by name. */
export async function pageCellTypes(
  store: Store,
  query: { cursor?: string; limit: number },
): Promise<Page<CellType>> {
  return readPage<CellTypeRow, CellType>(store, {
    matching: store.db.selectFrom('CellType').select(['id', 'name as sortValue']),
    rows: (ids) => cellTypes(store).where('t.id', 'in', ids).execute(),
    present,
    sort: 'sortValue',
    ...query,
    cursor: query.cursor,
  });
}

export async function findCellType(store: Store, id: number): Promise<CellType | null> {
  const row = await cellTypes(store).where('t.id', '=', id).executeTakeFirst();
  return row === undefined ? null : present(row);
}

export async function findCellTypeByName(store: Store, name: string): Promise<CellType | null> {
  const row = await cellTypes(store).where('t.name', '=', name).executeTakeFirst();
  return row === undefined ? null : present(row);
}

/** Stores a cell type and returns its identifier. */
export async function insertCellType(
  store: Store,
  fields: CreateCellType,
  createdAt: string,
): Promise<number> {
  const { id } = await store.db
    .insertInto('CellType')
    .values({ ...fields, createdAt })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Changes a cell type where it still has the version; returns whether it had. */
export async function updateCellType(
  store: Store,
  id: number,
  version: number,
  fields: ChangeCellType,
): Promise<boolean> {
  return changeRow(store, 'CellType', { id, version, fields });
}
