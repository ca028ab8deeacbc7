import { chemistry, chemistryList, createChemistry as createChemistryBody } from '../contract/chemistries.ts';
import { listChemistries } from '../store/chemistries.ts';
import { createChemistry } from '../use-cases/register/createChemistry.ts';
import { defineRoute, type Route } from './route.ts';

export const chemistryRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/chemistries',
    tag: 'Cell types',
    summary: 'All chemistries with their general defaults',
    role: 'reader',
    answer: chemistryList,
    handle: async ({ context }) => ({ items: await listChemistries(context.store) }),
  }),
  defineRoute({
    method: 'post',
    path: '/chemistries',
    tag: 'Cell types',
    summary: 'Add a chemistry',
    role: 'operator',
    body: createChemistryBody,
    answer: chemistry,
    status: 201,
    idempotent: true,
    handle: async ({ context, body }) => createChemistry(context, body),
  }),
];
