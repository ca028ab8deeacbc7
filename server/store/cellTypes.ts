import {
  type CellType,
  type ChangeCellType,
  type CreateCellType,
  chargeZones,
} from '../contract/cellTypes.ts';
import type { Page } from '../contract/common.ts';
import { readPage } from './page.ts';
import { changeRow, insertRow } from './rows.ts';
import type { SqlStore, Store } from './store.ts';

interface CellTypeRow extends Omit<CellType, 'limits' | 'chargeZones'> {
  chargeZonesJson: string;
  chemistryChargeVoltageLimitV: number;
  chemistryDischargeCutoffV: number;
  chemistryChargeTemperatureMinC: number;
  chemistryChargeTemperatureMaxC: number;
  usualChargeRateC: number;
}

const columns = `t.id, t.name, t.maker, t.chemistryId, t.ratedCapacityAh, t.chargeVoltageLimitV, t.dischargeCutoffV,
  t.maxChargeCurrentA, t.maxDischargeCurrentA, t.taperCurrentA, t.chargeTemperatureMinC, t.chargeTemperatureMaxC,
  t.chargeZonesJson, t.massG, t.heatCapacityJPerK, t.heatTransferWPerK, t.capacityMinAh, t.resistanceMaxOhm, t.resistanceDurationS,
  t.referenceTemperatureC, t.referenceSoc, t.datasheet, t.createdAt, t.version, k.name AS chemistryName,
  k.chargeVoltageLimitV AS chemistryChargeVoltageLimitV, k.dischargeCutoffV AS chemistryDischargeCutoffV,
  k.chargeTemperatureMinC AS chemistryChargeTemperatureMinC, k.chargeTemperatureMaxC AS chemistryChargeTemperatureMaxC,
  k.usualChargeRateC, (SELECT COUNT(*) FROM Lot l WHERE l.cellTypeId = t.id) AS lotCount`;
const from = 'CellType t JOIN Chemistry k ON k.id = t.chemistryId';

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
  const zones = chargeZones.parse(JSON.parse(chargeZonesJson));
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

/** A page of the cell types by name. */
export async function pageCellTypes(
  store: Store,
  query: { cursor?: string; limit: number },
): Promise<Page<CellType>> {
  return readPage<CellTypeRow, CellType>(
    store,
    {
      select: columns,
      from,
      where: [],
      values: [],
      idColumn: 't.id',
      sortBy: { sql: 't.name', values: [] },
      cursor: query.cursor,
      limit: query.limit,
    },
    (row) => present(row),
  );
}

export async function findCellType(store: Store, id: number): Promise<CellType | null> {
  const row = await store.get<CellTypeRow>(`SELECT ${columns} FROM ${from} WHERE t.id = ?`, id);
  return row ? present(row) : null;
}

export async function findCellTypeByName(store: Store, name: string): Promise<CellType | null> {
  const row = await store.get<CellTypeRow>(`SELECT ${columns} FROM ${from} WHERE t.name = ?`, name);
  return row ? present(row) : null;
}

const changeable = [
  'name',
  'maker',
  'chemistryId',
  'ratedCapacityAh',
  'chargeVoltageLimitV',
  'dischargeCutoffV',
  'maxChargeCurrentA',
  'maxDischargeCurrentA',
  'taperCurrentA',
  'chargeTemperatureMinC',
  'chargeTemperatureMaxC',
  'chargeZonesJson',
  'massG',
  'heatCapacityJPerK',
  'heatTransferWPerK',
  'capacityMinAh',
  'resistanceMaxOhm',
  'resistanceDurationS',
  'referenceTemperatureC',
  'referenceSoc',
  'datasheet',
] as const satisfies readonly (keyof CreateCellType | 'chargeZonesJson')[];

/** The fields as columns: the zones as the JSON they are stored as. */
function columnsOf<F extends ChangeCellType>({ chargeZones: zones, ...fields }: F) {
  return { ...fields, ...(zones === undefined ? {} : { chargeZonesJson: JSON.stringify(zones) }) };
}

/** Stores a cell type and returns its identifier. */
export async function insertCellType(
  store: SqlStore,
  fields: CreateCellType,
  createdAt: string,
): Promise<number> {
  return insertRow(store, 'CellType', [...changeable, 'createdAt'], { ...columnsOf(fields), createdAt });
}

/** Changes a cell type where it still has the version; returns whether it had. */
export async function updateCellType(
  store: SqlStore,
  id: number,
  version: number,
  fields: ChangeCellType,
): Promise<boolean> {
  return changeRow(store, 'CellType', changeable, { id, version, fields: columnsOf(fields) });
}
