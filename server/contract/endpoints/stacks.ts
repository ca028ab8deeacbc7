import { attachmentList, createNote, history } from '../cells.ts';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { stackLife } from '../stackLife.ts';
import { changeStack, createStack, stack, stackPage, stackQuery } from '../stacks.ts';
import { keepTraveller, travellerList } from '../travellers.ts';
import { keepPicture } from './keepPicture.ts';

export const stackEndpoints = {
  'GET /stacks': {
    tag: 'Stacks',
    summary: 'Stacks, newest first',
    query: stackQuery,
    answer: stackPage,
  },
  'POST /stacks': {
    tag: 'Stacks',
    summary: 'Plan a stack from an accepted pair; its cells are taken',
    body: createStack,
    answer: stack,
    status: 201,
    idempotent: true,
  },
  'GET /stacks/{id}': {
    tag: 'Stacks',
    summary: 'A stack with the values its cells were chosen by',
    params: idParameter,
    answer: stack,
  },
  'PATCH /stacks/{id}': {
    tag: 'Stacks',
    summary: 'Mark a stack as built, retire it, rename it, set its next check-up',
    params: idParameter,
    body: changeStack,
    answer: stack,
    changesVersion: true,
  },
  'DELETE /stacks/{id}': {
    tag: 'Stacks',
    summary: 'Take the plan of a stack back while it is not built',
    params: idParameter,
    changesVersion: true,
  },
  'GET /stacks/{id}/life': {
    tag: 'Stacks',
    summary: 'Resistance, capacity and drift between the cells of a stack over its cycles, with intervals',
    params: idParameter,
    answer: stackLife,
  },
  'GET /stacks/{id}/history': {
    tag: 'Stacks',
    summary: 'Everything that happened to a stack, newest first',
    params: idParameter,
    answer: history,
  },
  'GET /stacks/{id}/notes': {
    tag: 'Stacks',
    summary: 'Notes and pictures kept with a stack',
    params: idParameter,
    answer: attachmentList,
  },
  'POST /stacks/{id}/notes': {
    tag: 'Stacks',
    summary: 'Keep a note with a stack',
    params: idParameter,
    body: createNote,
    answer: attachmentList,
    status: 201,
    idempotent: true,
  },
  'GET /stacks/{id}/travellers': {
    tag: 'Stacks',
    summary: 'Results that were kept of the travellers of a stack, newest first',
    params: idParameter,
    answer: travellerList,
  },
  'POST /stacks/{id}/travellers': {
    tag: 'Stacks',
    summary: 'Keep the results of a traveller; its voltages become measurements of the cells',
    params: idParameter,
    body: keepTraveller,
    answer: travellerList,
    status: 201,
    idempotent: true,
  },
  'POST /stacks/{id}/pictures': { tag: 'Stacks', ...keepPicture },
} as const satisfies EndpointTable;
