import type { Chemistry, CreateChemistry } from '../contract/chemistries.ts';
import type { Store } from './store.ts';

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

const allColumns = ['id', ...columns, 'version'] as const;

/** All chemistries by name. */
export async function listChemistries(store: Store): Promise<Chemistry[]> {
  return store.db.selectFrom('Chemistry').select(allColumns).orderBy('name').execute();
}

export async function findChemistry(store: Store, id: number): Promise<Chemistry | null> {
  const row = await store.db
    .selectFrom('Chemistry')
    .select(allColumns)
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

export async function findChemistryByName(store: Store, name: string): Promise<Chemistry | null> {
  const row = await store.db
    .selectFrom('Chemistry')
    .select(allColumns)
    .where('name', '=', name)
    .executeTakeFirst();
  return row ?? null;
}

/** Stores a chemistry and returns its identifier; inside a transaction with its audit entry. */
export async function insertChemistry(store: Store, fields: CreateChemistry): Promise<number> {
  const { id } = await store.db
    .insertInto('Chemistry')
    .values(fields)
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}
