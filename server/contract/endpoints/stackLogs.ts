import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { job } from '../jobs.ts';
import {
  evaluateStackLogs,
  stackLogEvaluation,
  stackLogEvaluationPage,
  stackLogEvaluationQuery,
} from '../stackLogEvaluations.ts';
import { stackLog, stackLogPage, stackLogQuery, stackLogSeries } from '../stackLogs.ts';
import { operatingPointList } from '../supplyParts.ts';
import { takenOver, takeOver } from '../takenParameters.ts';

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
  'GET /stack-logs/{id}/operating-points': {
    tag: 'Stack logs',
    summary: 'Operating points of the converter in a log, for POST /supply-parts',
    params: idParameter,
    answer: operatingPointList,
  },
  'GET /stack-log-evaluations': {
    tag: 'Stack logs',
    summary: 'Evaluations of stack logs, newest first',
    query: stackLogEvaluationQuery,
    answer: stackLogEvaluationPage,
  },
  'POST /stack-log-evaluations': {
    tag: 'Stack logs',
    summary:
      'Set logs of one stack beside a study and fit what is asked; a job does it and its result names the evaluation',
    body: evaluateStackLogs,
    answer: job,
    status: 202,
    idempotent: true,
  },
  'GET /stack-log-evaluations/{id}': {
    tag: 'Stack logs',
    summary: 'A stored evaluation with its settings, the study and the files it is based on',
    params: idParameter,
    answer: stackLogEvaluation,
  },
  'POST /stack-log-evaluations/{id}/take-over': {
    tag: 'Stack logs',
    summary: 'Take results over into parameters of cells, stack, converter and cable; what was there stays',
    params: idParameter,
    body: takeOver,
    answer: takenOver,
    status: 201,
    idempotent: true,
  },
} as const satisfies EndpointTable;
