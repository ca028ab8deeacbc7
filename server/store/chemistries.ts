import type { Chemistry, CreateChemistry } from '../contract/chemistries.ts';
import { insertRow } from './rows.ts';
import type { SqlStore, Store } from './store.ts';

/** All chemistries by name. */
export function listChemistries(store: Store): Promise<Chemistry[]> {
  return store.prisma.chemistry.findMany({ orderBy: { name: 'asc' } });
}

export function findChemistry(store: Store, id: number): Promise<Chemistry | null> {
  return store.prisma.chemistry.findUnique({ where: { id } });
}

export function findChemistryByName(store: Store, name: string): Promise<Chemistry | null> {
  return store.prisma.chemistry.findUnique({ where: { name } });
}

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

/** Stores a chemistry and returns its identifier; inside a transaction with its audit entry. */
export function insertChemistry(store: SqlStore, fields: CreateChemistry): number {
  return insertRow(store, 'Chemistry', columns, fields);
}
