import { notFound } from '../errors.ts';
import { findStack, pageStacks } from '../store/stacks.ts';
import { changeStack, undoStack } from '../use-cases/stacks/changeStack.ts';
import { planStack } from '../use-cases/stacks/planStack.ts';
import { defineRoute, type Route } from './route.ts';

export const stackRoutes: readonly Route[] = [
  defineRoute('GET /stacks', {
    role: 'reader',
    handle: ({ context, query }) => pageStacks(context.store, query),
  }),
  defineRoute('POST /stacks', {
    role: 'operator',
    handle: ({ context, body }) => planStack(context, body),
  }),
  defineRoute('GET /stacks/{id}', {
    role: 'reader',
    handle: ({ context, params }) => {
      const found = findStack(context.store, params.id);
      if (!found) throw notFound('stack', params.id);
      return found;
    },
  }),
  defineRoute('PATCH /stacks/{id}', {
    role: 'operator',
    handle: ({ context, params, body, version }) => changeStack(context, params.id, version, body),
  }),
  defineRoute('DELETE /stacks/{id}', {
    role: 'operator',
    handle: ({ context, params, version }) => {
      undoStack(context, params.id, version);
      return undefined;
    },
  }),
];
