import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { liveLogState, openLiveLog, openLiveLogs } from '../liveStackLogs.ts';

export const liveStackLogEndpoints = {
  'POST /stacks/{id}/live-logs': {
    tag: 'Live records',
    summary: 'Open a log of a stack whose rows come while the charge runs',
    params: idParameter,
    body: openLiveLog,
    answer: liveLogState,
    status: 201,
    idempotent: true,
  },
  'GET /stacks/{id}/live-logs': {
    tag: 'Live records',
    summary:
      'The open live logs of a stack; one whose sender was cut off stays until it goes on or is closed',
    params: idParameter,
    answer: openLiveLogs,
  },
  'GET /live-logs/{id}': {
    tag: 'Live records',
    summary: 'How many rows are stored, so that a sender that was cut off knows where to go on',
    params: idParameter,
    answer: liveLogState,
  },
  'POST /live-logs/{id}/rows': {
    tag: 'Live records',
    summary: 'Append rows; needs an Idempotency-Key, and what is answered is on the disk',
    params: idParameter,
    takes: ['application/json'],
    gives: 'application/json',
    answer: liveLogState,
  },
  'POST /live-logs/{id}/close': {
    tag: 'Live records',
    summary: 'Close a live log: its rows are read as a file is; what is refused stays open',
    params: idParameter,
    answer: liveLogState,
  },
} as const satisfies EndpointTable;
