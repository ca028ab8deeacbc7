import type { EndpointTable } from '../endpoint.ts';
import { overview } from '../overview.ts';

export const overviewEndpoints = {
  'GET /overview': {
    tag: 'Overview',
    summary: 'Counts along the way through the job, and what waits to be done',
    answer: overview,
  },
} as const satisfies EndpointTable;
