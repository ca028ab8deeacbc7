import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { job } from '../jobs.ts';
import {
  changePair,
  createPairing,
  pairCharge,
  pairingPage,
  pairingPreview,
  pairingQuery,
  previewPairing,
  storedPair,
  storedPairing,
  swapPairs,
} from '../pairings.ts';

export const pairingEndpoints = {
  'GET /pairings': {
    tag: 'Pairing',
    summary: 'Pairing runs, newest first',
    query: pairingQuery,
    answer: pairingPage,
  },
  'POST /pairings': {
    tag: 'Pairing',
    summary: 'Pair the available cells of a lot; a job, whose result names the run',
    body: createPairing,
    answer: job,
    status: 202,
    idempotent: true,
  },
  'POST /pairings/preview': {
    tag: 'Pairing',
    summary: 'How many pairs, or groups of more cells, criteria would allow',
    body: previewPairing,
    answer: pairingPreview,
  },
  'GET /pairings/{id}': {
    tag: 'Pairing',
    summary: 'A pairing run: pairs, proof, comparison and explanation',
    params: idParameter,
    answer: storedPairing,
  },
  'POST /pairings/{id}/swap': {
    tag: 'Pairing',
    summary: 'Exchange a cell of one pair with a cell of another pair of the run',
    params: idParameter,
    body: swapPairs,
    answer: storedPairing,
    changesVersion: true,
  },
  'GET /pairs/{id}': {
    tag: 'Pairing',
    summary: 'A pair, or a group of more cells in series, with what was decided about it',
    params: idParameter,
    answer: storedPair,
  },
  'GET /pairs/{id}/charge': {
    tag: 'Pairing',
    summary:
      'How a pair would charge: which cell limits, peak voltages, end states, from its fitted parameters',
    params: idParameter,
    answer: pairCharge,
  },
  'PATCH /pairs/{id}': {
    tag: 'Pairing',
    summary: 'Accept or reject a pair, or take that back',
    params: idParameter,
    body: changePair,
    answer: storedPair,
    changesVersion: true,
  },
} as const satisfies EndpointTable;
