import { idParameter } from '../contract/common.ts';
import {
  changeStack as changeBody,
  createStack as createBody,
  stack,
  stackPage,
  stackQuery,
} from '../contract/stacks.ts';
import { notFound } from '../errors.ts';
import { findStack, pageStacks } from '../store/stacks.ts';
import { changeStack, undoStack } from '../use-cases/stacks/changeStack.ts';
import { planStack } from '../use-cases/stacks/planStack.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Stacks';

export const stackRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/stacks',
    tag,
    summary: 'Stacks, newest first',
    role: 'reader',
    query: stackQuery,
    answer: stackPage,
    handle: async ({ context, query }) => pageStacks(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/stacks',
    tag,
    summary: 'Plan a stack from an accepted pair; its cells are taken',
    role: 'operator',
    body: createBody,
    answer: stack,
    status: 201,
    idempotent: true,
    handle: async ({ context, body }) => planStack(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/stacks/{id}',
    tag,
    summary: 'A stack with the values its cells were chosen by',
    role: 'reader',
    params: idParameter,
    answer: stack,
    handle: async ({ context, params }) => {
      const found = await findStack(context.store, params.id);
      if (!found) throw notFound('stack', params.id);
      return found;
    },
  }),
  defineRoute({
    method: 'patch',
    path: '/stacks/{id}',
    tag,
    summary: 'Mark a stack as built, retire it, rename it, set its next check-up',
    role: 'operator',
    params: idParameter,
    body: changeBody,
    answer: stack,
    changesVersion: true,
    handle: async ({ context, params, body, version }) => changeStack(context, params.id, version, body),
  }),
  defineRoute({
    method: 'delete',
    path: '/stacks/{id}',
    tag,
    summary: 'Take the plan of a stack back while it is not built',
    role: 'operator',
    params: idParameter,
    changesVersion: true,
    handle: async ({ context, params, version }) => {
      await undoStack(context, params.id, version);
      return undefined;
    },
  }),
];
