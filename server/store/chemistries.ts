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

export function findChemistry(store: SqlStore, id: number): Chemistry | null {
  return store.get<Chemistry>(`SELECT ${allColumns} FROM Chemistry WHERE id = ?`, id) ?? null;
}

export function findChemistryByName(store: SqlStore, name: string): Chemistry | null {
  return store.get<Chemistry>(`SELECT ${allColumns} FROM Chemistry WHERE name = ?`, name) ?? null;
}

/** Stores a chemistry and returns its identifier; inside a transaction with its audit entry. */
export function insertChemistry(store: SqlStore, fields: CreateChemistry): number {
  return insertRow(store, 'Chemistry', columns, fields);
}
