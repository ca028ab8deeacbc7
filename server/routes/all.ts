import { ageingRoutes } from './ageing.ts';
import { backupRoutes } from './backups.ts';
import { cellRoutes } from './cells.ts';
import { cellTableRoutes } from './cellTables.ts';
import { cellTypeRoutes } from './cellTypes.ts';
import { chargeRateRoutes } from './chargeRates.ts';
import { chargeStudyRoutes } from './chargeStudies.ts';
import { chemistryRoutes } from './chemistries.ts';
import { columnMapRoutes } from './columnMaps.ts';
import { descriptionRoutes } from './description.ts';
import { exportRoutes } from './exports.ts';
import { gaugeRoutes } from './gauge.ts';
import { heatBalanceRoutes } from './heatBalance.ts';
import { importRoutes } from './imports.ts';
import { jobRoutes } from './jobs.ts';
import { keptWithRoutes } from './keptWith.ts';
import { liveRecordRoutes } from './liveRecords.ts';
import { liveStackLogRoutes } from './liveStackLogs.ts';
import { lotRoutes } from './lots.ts';
import { overviewRoutes } from './overview.ts';
import { pairingRoutes } from './pairings.ts';
import { pictureRoutes } from './pictures.ts';
import { pulseLimitRoutes } from './pulseLimits.ts';
import type { Route } from './route.ts';
import { stackLogRoutes } from './stackLogs.ts';
import { stackRoutes } from './stacks.ts';
import { supplyPartRoutes } from './supplyParts.ts';
import { temperatureRoutes } from './temperature.ts';
import { testRoutes } from './tests.ts';

/** Every route of the service, in the order of the way through the job. The API's description is made from it. */
export const allRoutes: readonly Route[] = [
  ...overviewRoutes,
  ...chemistryRoutes,
  ...cellTypeRoutes,
  ...chargeRateRoutes,
  ...temperatureRoutes,
  ...lotRoutes,
  ...gaugeRoutes,
  ...cellRoutes,
  ...cellTableRoutes,
  ...keptWithRoutes,
  ...pictureRoutes,
  ...importRoutes,
  ...columnMapRoutes,
  ...testRoutes,
  ...pulseLimitRoutes,
  ...heatBalanceRoutes,
  ...liveRecordRoutes,
  ...pairingRoutes,
  ...stackRoutes,
  ...liveStackLogRoutes,
  ...stackLogRoutes,
  ...supplyPartRoutes,
  ...chargeStudyRoutes,
  ...ageingRoutes,
  ...jobRoutes,
  ...backupRoutes,
  ...exportRoutes,
  ...descriptionRoutes(() => allRoutes),
];
