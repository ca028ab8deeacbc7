import type { Chemistry, CreateChemistry } from '../contract/chemistries.ts';
import { insertRow } from './rows.ts';
import type { SqlStore, Store } from './store.ts';

const columns = [
  'name',
  'description',
  'nominalVoltageV',
  'chargeVoltageLimitV',
  'dischargeCutoffV',
  'plausibleVoltageMinV',
  'plausibleVoltageMaxV',
  'usualChargeRateC',
  'chargeTemperatureMinC',
  'chargeTemperatureMaxC',
  'basis',
] as const satisfies readonly (keyof CreateChemistry)[];

const allColumns = ['id', ...columns, 'version'].join(', ');

/** All chemistries by name. */
export function listChemistries(store: Store): Promise<Chemistry[]> {
  return store.all<Chemistry>(`SELECT ${allColumns} FROM Chemistry ORDER BY name`);
}

export async function findChemistry(store: SqlStore, id: number): Promise<Chemistry | null> {
  return (await store.get<Chemistry>(`SELECT ${allColumns} FROM Chemistry WHERE id = ?`, id)) ?? null;
}

export async function findChemistryByName(store: SqlStore, name: string): Promise<Chemistry | null> {
  return (await store.get<Chemistry>(`SELECT ${allColumns} FROM Chemistry WHERE name = ?`, name)) ?? null;
}

/** Stores a chemistry and returns its identifier; inside a transaction with its audit entry. */
export async function insertChemistry(store: SqlStore, fields: CreateChemistry): Promise<number> {
  return insertRow(store, 'Chemistry', columns, fields);
}
