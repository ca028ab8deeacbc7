import { idParameter } from '../contract/common.ts';
import { job } from '../contract/jobs.ts';
import {
  changePair as changeBody,
  createPairing as createBody,
  pairCharge,
  pairingPage,
  pairingPreview,
  pairingQuery,
  previewPairing as previewBody,
  storedPair,
  storedPairing,
  swapPairs as swapBody,
} from '../contract/pairings.ts';
import { putJob } from '../jobs/queue.ts';
import { pagePairings } from '../store/pairings.ts';
import { studyPair } from '../use-cases/charging/studyPair.ts';
import { collectCells } from '../use-cases/pairing/collectCells.ts';
import { decidePair } from '../use-cases/pairing/decidePair.ts';
import { previewPairing } from '../use-cases/pairing/previewPairing.ts';
import { readPair, readPairing } from '../use-cases/pairing/readPairing.ts';
import { swapPairs } from '../use-cases/pairing/swapPairs.ts';
import { defineRoute, type Route } from './route.ts';

const tag = 'Pairing';

export const pairingRoutes: readonly Route[] = [
  defineRoute({
    method: 'get',
    path: '/pairings',
    tag,
    summary: 'Pairing runs, newest first',
    role: 'reader',
    query: pairingQuery,
    answer: pairingPage,
    handle: async ({ context, query }) => pagePairings(context.store, query),
  }),
  defineRoute({
    method: 'post',
    path: '/pairings',
    tag,
    summary: 'Pair the available cells of a lot; a job, whose result names the run',
    role: 'operator',
    body: createBody,
    answer: job,
    status: 202,
    idempotent: true,
    handle: async ({ context, body }) => {
      // What would be refused is refused now and not only when the job's turn has come.
      await collectCells(context, body);
      return putJob(context, 'pair', body);
    },
  }),
  defineRoute({
    method: 'post',
    path: '/pairings/preview',
    tag,
    summary: 'How many pairs criteria would allow',
    role: 'reader',
    body: previewBody,
    answer: pairingPreview,
    handle: async ({ context, body }) => previewPairing(context, body),
  }),
  defineRoute({
    method: 'get',
    path: '/pairings/{id}',
    tag,
    summary: 'A pairing run: pairs, proof, comparison and explanation',
    role: 'reader',
    params: idParameter,
    answer: storedPairing,
    handle: async ({ context, params }) => readPairing(context, params.id),
  }),
  defineRoute({
    method: 'post',
    path: '/pairings/{id}/swap',
    tag,
    summary: 'Exchange the second cells of two pairs of a run',
    role: 'operator',
    params: idParameter,
    body: swapBody,
    answer: storedPairing,
    changesVersion: true,
    handle: async ({ context, params, version, body }) => swapPairs(context, params.id, version, body),
  }),
  defineRoute({
    method: 'get',
    path: '/pairs/{id}',
    tag,
    summary: 'A pair with what was decided about it',
    role: 'reader',
    params: idParameter,
    answer: storedPair,
    handle: async ({ context, params }) => readPair(context, params.id),
  }),
  defineRoute({
    method: 'get',
    path: '/pairs/{id}/charge',
    tag,
    summary:
      'How a pair would charge: which cell limits, peak voltages, end states, from its fitted parameters',
    role: 'reader',
    params: idParameter,
    answer: pairCharge,
    handle: async ({ context, params }) => studyPair(context, params.id),
  }),
  defineRoute({
    method: 'patch',
    path: '/pairs/{id}',
    tag,
    summary: 'Accept or reject a pair, or take that back',
    role: 'operator',
    params: idParameter,
    body: changeBody,
    answer: storedPair,
    changesVersion: true,
    handle: async ({ context, params, version, body }) => decidePair(context, params.id, version, body),
  }),
];
