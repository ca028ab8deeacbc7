import { notFound } from '../errors.ts';
import { findStack, pageStacks } from '../store/stacks.ts';
import { findSignsOfPair } from '../use-cases/pairing/signsOfPair.ts';
import { changeStack, undoStack } from '../use-cases/stacks/changeStack.ts';
import { keepTraveller } from '../use-cases/stacks/keepTraveller.ts';
import { planStack } from '../use-cases/stacks/planStack.ts';
import { readStackLife } from '../use-cases/stacks/readStackLife.ts';
import { readTravellers } from '../use-cases/stacks/readTravellers.ts';
import { defineRoute, type Route } from './route.ts';

export const stackRoutes: readonly Route[] = [
  defineRoute('GET /stacks', {
    role: 'reader',
    handle: async ({ context, query }) => pageStacks(context.store, query),
  }),
  defineRoute('POST /stacks', {
    role: 'operator',
    prepare: async ({ context, body }) => findSignsOfPair(context, body.pairId, 'pairId'),
    handle: async ({ context, body }, signs) => planStack(context, body, signs),
  }),
  defineRoute('GET /stacks/{id}', {
    role: 'reader',
    handle: async ({ context, params }) => {
      const found = await findStack(context.store, params.id);
      if (!found) throw notFound('stack', params.id);
      return found;
    },
  }),
  defineRoute('GET /stacks/{id}/life', {
    role: 'reader',
    handle: ({ context, params }) => readStackLife(context, params.id),
  }),
  defineRoute('GET /stacks/{id}/travellers', {
    role: 'reader',
    handle: async ({ context, params }) => ({ items: await readTravellers(context, params.id) }),
  }),
  defineRoute('POST /stacks/{id}/travellers', {
    role: 'operator',
    handle: async ({ context, params, body }) => ({ items: await keepTraveller(context, params.id, body) }),
  }),
  defineRoute('PATCH /stacks/{id}', {
    role: 'operator',
    handle: async ({ context, params, body, version }) => changeStack(context, params.id, version, body),
  }),
  defineRoute('DELETE /stacks/{id}', {
    role: 'operator',
    handle: async ({ context, params, version }) => {
      await undoStack(context, params.id, version);
      return undefined;
    },
  }),
];
