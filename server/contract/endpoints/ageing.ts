import { ageingQuery, ageingSettings, cellAgeing, lotAgeing } from '../ageingAssessment.ts';
import { idParameter } from '../common.ts';
import type { EndpointTable } from '../endpoint.ts';
import { job } from '../jobs.ts';

export const ageingEndpoints = {
  'POST /lots/{id}/ageing': {
    tag: 'Ageing',
    summary:
      'Assess the ageing of a lot as a job: series, models, limits, forecasts, drifting stacks, stress',
    params: idParameter,
    body: ageingSettings,
    answer: job,
    status: 202,
    idempotent: true,
  },
  'GET /lots/{id}/ageing': {
    tag: 'Ageing',
    summary:
      'The ageing of a lot as last assessed: its cells over each other, drifting stacks, life against stress; null where it was not assessed',
    params: idParameter,
    query: ageingQuery,
    answer: lotAgeing.nullable(),
  },
  'GET /cells/{id}/ageing': {
    tag: 'Ageing',
    summary:
      'The ageing of a cell as last assessed: series, models, limits, forecasts, fan; null where it was not assessed',
    params: idParameter,
    query: ageingQuery,
    answer: cellAgeing.nullable(),
  },
} as const satisfies EndpointTable;
