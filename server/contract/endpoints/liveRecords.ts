import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { liveBatches, liveBatchOutcomes, liveSamples, liveState, openLiveTest } from '../liveRecords.ts';

export const liveRecordEndpoints = {
  'POST /cells/{id}/live-tests': {
    tag: 'Live records',
    summary: 'Open a test whose samples come while it runs',
    params: idParameter,
    body: openLiveTest,
    answer: liveState,
    status: 201,
    idempotent: true,
  },
  'GET /tests/{id}/samples': {
    tag: 'Live records',
    summary: 'How many samples are stored, so that a sender that was cut off knows where to go on',
    params: idParameter,
    answer: liveState,
  },
  'POST /tests/{id}/samples': {
    tag: 'Live records',
    summary: 'Append samples; needs an Idempotency-Key, and what is answered is on the disk',
    params: idParameter,
    body: liveSamples,
    headers: {
      'Idempotency-Key': 'The key of the batch, another for each; the same again stores nothing twice',
    },
    gives: 'application/json',
    answer: liveState,
  },
  'POST /live-samples': {
    tag: 'Live records',
    summary:
      'Append samples of several tests, each batch with its own key; each is stored or refused by itself, and what is answered as stored is on the disk',
    body: liveBatches,
    gives: 'application/json',
    answer: liveBatchOutcomes,
  },
  'POST /tests/{id}/close': {
    tag: 'Live records',
    summary: 'Close an open test: it takes no more samples and can be evaluated',
    params: idParameter,
    answer: liveState,
  },
} as const satisfies EndpointTable;
