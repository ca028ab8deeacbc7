import {
  type CellType,
  type ChangeCellType,
  type CreateCellType,
  chargeZones,
} from '../contract/cellTypes.ts';
import type { Page } from '../contract/common.ts';
import { readPage } from './page.ts';
import { changeRow } from './rows.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

interface CellTypeRow extends Omit<CellType, 'limits' | 'chargeZones'> {
  chargeZonesJson: string;
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
    chargeZonesJson,
    ...cellType
  } = row;
  const zones = parseStored(chargeZones, chargeZonesJson, `charge zones of cell type ${cellType.id}`);
  const coldest = zones.length === 0 ? null : Math.min(...zones.map((zone) => zone.fromC));
  const hottest = zones.length === 0 ? null : Math.max(...zones.map((zone) => zone.toC));
  return {
    ...cellType,
    chargeZones: zones,
    limits: {
      chargeVoltageLimitV: cellType.chargeVoltageLimitV ?? chemistryChargeVoltageLimitV,
      dischargeCutoffV: cellType.dischargeCutoffV ?? chemistryDischargeCutoffV,
      // Zones of the datasheet state its temperatures too.
      chargeTemperatureMinC: cellType.chargeTemperatureMinC ?? coldest ?? chemistryChargeTemperatureMinC,
      chargeTemperatureMaxC: cellType.chargeTemperatureMaxC ?? hottest ?? chemistryChargeTemperatureMaxC,
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

/** The fields as columns: the zones as the JSON they are stored as. */
function columnsOf<F extends ChangeCellType>({ chargeZones: zones, ...fields }: F) {
  return { ...fields, ...(zones === undefined ? {} : { chargeZonesJson: JSON.stringify(zones) }) };
}

/** Stores a cell type and returns its identifier. */
export async function insertCellType(
  store: Store,
  fields: CreateCellType,
  createdAt: string,
): Promise<number> {
  const { id } = await store.db
    .insertInto('CellType')
    .values({ ...columnsOf(fields), createdAt })
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
  return changeRow(store, 'CellType', { id, version, fields: columnsOf(fields) });
}
