import type { Chemistry, CreateChemistry } from '../contract/chemistries.ts';
import type { Store } from './store.ts';

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

export function insertChemistry(store: Store, fields: CreateChemistry): Promise<Chemistry> {
  return store.prisma.chemistry.create({ data: fields });
}
