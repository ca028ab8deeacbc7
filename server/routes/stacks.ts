import { attachmentList, createNote, history } from '../contract/cells.ts';
import { idParameter } from '../contract/common.ts';
import {
  changeStack as changeBody,
  createStack as createBody,
  stack,
  stackPage,
  stackQuery,
} from '../contract/stacks.ts';
import { notFound } from '../errors.ts';
import { listAttachments } from '../store/attachments.ts';
import { findStack, pageStacks } from '../store/stacks.ts';
import { addNote } from '../use-cases/register/addNote.ts';
import { changeStack, undoStack } from '../use-cases/stacks/changeStack.ts';
import { planStack } from '../use-cases/stacks/planStack.ts';
import { readStackHistory } from '../use-cases/stacks/readStackHistory.ts';
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
    handle: ({ context, query }) => pageStacks(context.store, query),
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
    handle: ({ context, body }) => planStack(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/stacks/{id}',
    tag,
    summary: 'A stack with the values its cells were chosen by',
    role: 'reader',
    params: idParameter,
    answer: stack,
    handle: ({ context, params }) => {
      const found = findStack(context.store, params.id);
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
    handle: ({ context, params, body, version }) => changeStack(context, params.id, version, body),
  }),
  defineRoute({
    method: 'delete',
    path: '/stacks/{id}',
    tag,
    summary: 'Take the plan of a stack back while it is not built',
    role: 'operator',
    params: idParameter,
    changesVersion: true,
    handle: ({ context, params, version }) => {
      undoStack(context, params.id, version);
      return undefined;
    },
  }),
  defineRoute({
    method: 'get',
    path: '/stacks/{id}/history',
    tag,
    summary: 'Everything that happened to a stack, newest first',
    role: 'reader',
    params: idParameter,
    answer: history,
    handle: ({ context, params }) => ({ items: readStackHistory(context, params.id) }),
  }),
  defineRoute({
    method: 'get',
    path: '/stacks/{id}/notes',
    tag,
    summary: 'Notes and pictures kept with a stack',
    role: 'reader',
    params: idParameter,
    answer: attachmentList,
    handle: ({ context, params }) => {
      if (!findStack(context.store, params.id)) throw notFound('stack', params.id);
      return { items: listAttachments(context.store, { stackId: params.id }) };
    },
  }),
  defineRoute({
    method: 'post',
    path: '/stacks/{id}/notes',
    tag,
    summary: 'Keep a note with a stack',
    role: 'operator',
    params: idParameter,
    body: createNote,
    answer: attachmentList,
    status: 201,
    idempotent: true,
    handle: ({ context, params, body }) => ({ items: addNote(context, { stackId: params.id }, body.text) }),
  }),
];
