import type { Overview } from '../contract/overview.ts';
import { lacksNeededValue } from './cells.ts';
import type { Store } from './store.ts';
import { hasSweeps } from './sweeps.ts';

/** Counts along the way through the job, and what waits to be done at the instant `now`. */
export async function readOverview(store: Store, now: string): Promise<Overview> {
  const count = async (sql: string, ...values: string[]): Promise<number> =>
    (await store.get<{ n: number }>(`SELECT COUNT(*) AS n FROM ${sql}`, ...values))?.n ?? 0;
  return {
    counts: {
      lots: await count('Lot'),
      cells: await count('Cell'),
      tests: await count(`Test WHERE state IN ('sealed', 'open')`),
      pairings: await count('Pairing'),
      stacks: await count('Stack'),
      ageingSeries: await count(
        `(SELECT DISTINCT cellId FROM Fit WHERE kind = 'ageing' AND supersededAt IS NULL AND cellId IS NOT NULL)`,
      ),
      chargeStudies: await count('ChargeStudy'),
      exports: await count('Export'),
    },
    waiting: {
      testsNotEvaluated: await count(
        `Test x WHERE x.state = 'sealed' AND x.evaluatedAt IS NULL AND (EXISTS (SELECT 1 FROM Record r WHERE r.testId = x.id) OR ${hasSweeps})`,
      ),
      evaluationsFailed: await count(`Test WHERE state = 'sealed' AND evaluationError IS NOT NULL`),
      cellsWithoutNeededValue: await count(`Cell c WHERE ${lacksNeededValue}`),
      pairsToConfirm: await count(
        `Pair p WHERE p.state = 'proposed' AND p.pairingId IN (SELECT MAX(id) FROM Pairing GROUP BY lotId)`,
      ),
      stacksToBuild: await count(`Stack WHERE state = 'planned'`),
      stacksDueForCheckUp: await count(
        `Stack WHERE state = 'built' AND checkUpDueAt IS NOT NULL AND checkUpDueAt <= ?`,
        now,
      ),
      jobsRunning: await count(`Job WHERE state IN ('waiting', 'running')`),
      jobsFailed: await count(`Job WHERE state = 'failed'`),
    },
    newestLotId: (await store.get<{ id: number | null }>('SELECT MAX(id) AS id FROM Lot'))?.id ?? null,
  };
}
