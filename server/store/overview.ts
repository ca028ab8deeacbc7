import type { Overview } from '../contract/overview.ts';
import { lacksNeededValue } from './cells.ts';
import type { Store } from './store.ts';
import { hasSweeps } from './sweeps.ts';

/** Counts along the way through the job, and what waits to be done at the instant `now`. */
export function readOverview(store: Store, now: string): Overview {
  const count = (sql: string, ...values: string[]): number =>
    store.get<{ n: number }>(`SELECT COUNT(*) AS n FROM ${sql}`, ...values)?.n ?? 0;
  return {
    counts: {
      lots: count('Lot'),
      cells: count('Cell'),
      tests: count(`Test WHERE state IN ('sealed', 'open')`),
      pairings: count('Pairing'),
      stacks: count('Stack'),
      ageingSeries: count(
        `(SELECT DISTINCT cellId FROM Fit WHERE kind = 'ageing' AND supersededAt IS NULL AND cellId IS NOT NULL)`,
      ),
      chargeStudies: count('ChargeStudy'),
      exports: count('Export'),
    },
    waiting: {
      testsNotEvaluated: count(
        `Test x WHERE x.state = 'sealed' AND x.evaluatedAt IS NULL AND (EXISTS (SELECT 1 FROM Record r WHERE r.testId = x.id) OR ${hasSweeps})`,
      ),
      evaluationsFailed: count(`Test WHERE state = 'sealed' AND evaluationError IS NOT NULL`),
      cellsWithoutNeededValue: count(`Cell c WHERE ${lacksNeededValue}`),
      pairsToConfirm: count(
        `Pair p WHERE p.state = 'proposed' AND p.pairingId IN (SELECT MAX(id) FROM Pairing GROUP BY lotId)`,
      ),
      stacksToBuild: count(`Stack WHERE state = 'planned'`),
      stacksDueForCheckUp: count(
        `Stack WHERE state = 'built' AND checkUpDueAt IS NOT NULL AND checkUpDueAt <= ?`,
        now,
      ),
      jobsRunning: count(`Job WHERE state IN ('waiting', 'running')`),
      jobsFailed: count(`Job WHERE state = 'failed'`),
    },
    newestLotId: store.get<{ id: number | null }>('SELECT MAX(id) AS id FROM Lot')?.id ?? null,
  };
}
