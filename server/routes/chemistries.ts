import { listChemistries } from '../store/chemistries.ts';
import { createChemistry } from '../use-cases/register/createChemistry.ts';
import { defineRoute, type Route } from './route.ts';

export const chemistryRoutes: readonly Route[] = [
  defineRoute('GET /chemistries', {
    role: 'reader',
    handle: async ({ context }) => ({ items: await listChemistries(context.store) }),
  }),
  defineRoute('POST /chemistries', {
    role: 'operator',
    handle: async ({ context, body }) => createChemistry(context, body),
  }),
];
