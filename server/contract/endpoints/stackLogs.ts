import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { stackLog, stackLogPage, stackLogQuery, stackLogSeries } from '../stackLogs.ts';

export const stackLogEndpoints = {
  'GET /stack-logs': {
    tag: 'Stack logs',
    summary: 'Measured charges of stacks, newest first; their files are sent to POST /imports',
    query: stackLogQuery,
    answer: stackLogPage,
  },
  'GET /stack-logs/{id}': {
    tag: 'Stack logs',
    summary: 'A measured charge with its stack, its cells, its age and how its columns were read',
    params: idParameter,
    answer: stackLog,
  },
  'GET /stack-logs/{id}/series': {
    tag: 'Stack logs',
    summary: 'The columns of a log, thinned for drawing',
    params: idParameter,
    answer: stackLogSeries,
  },
} as const satisfies EndpointTable;
