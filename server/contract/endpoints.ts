import { ageingEndpoints } from './endpoints/ageing.ts';
import { cellEndpoints } from './endpoints/cells.ts';
import { cellTypeEndpoints } from './endpoints/cellTypes.ts';
import { chargeStudyEndpoints } from './endpoints/chargeStudies.ts';
import { columnMapEndpoints } from './endpoints/columnMaps.ts';
import { descriptionEndpoints } from './endpoints/description.ts';
import { exportEndpoints } from './endpoints/exports.ts';
import { heatBalanceEndpoints } from './endpoints/heatBalance.ts';
import { importEndpoints } from './endpoints/imports.ts';
import { jobEndpoints } from './endpoints/jobs.ts';
import { liveRecordEndpoints } from './endpoints/liveRecords.ts';
import { liveStackLogEndpoints } from './endpoints/liveStackLogs.ts';
import { lotEndpoints } from './endpoints/lots.ts';
import { overviewEndpoints } from './endpoints/overview.ts';
import { pairingEndpoints } from './endpoints/pairings.ts';
import { stackLogEndpoints } from './endpoints/stackLogs.ts';
import { stackEndpoints } from './endpoints/stacks.ts';
import { supplyPartEndpoints } from './endpoints/supplyParts.ts';
import { testEndpoints } from './endpoints/tests.ts';

/** Every endpoint of the service by method and path: the routes, the API's description and the pages' client read it. */
export const endpoints = {
  ...overviewEndpoints,
  ...cellTypeEndpoints,
  ...lotEndpoints,
  ...cellEndpoints,
  ...importEndpoints,
  ...columnMapEndpoints,
  ...testEndpoints,
  ...heatBalanceEndpoints,
  ...liveRecordEndpoints,
  ...liveStackLogEndpoints,
  ...pairingEndpoints,
  ...stackEndpoints,
  ...stackLogEndpoints,
  ...supplyPartEndpoints,
  ...chargeStudyEndpoints,
  ...ageingEndpoints,
  ...jobEndpoints,
  ...exportEndpoints,
  ...descriptionEndpoints,
};

export type Endpoints = typeof endpoints;
/** Method and path of an endpoint, e.g. `GET /lots/{id}`. */
export type EndpointName = keyof Endpoints;
