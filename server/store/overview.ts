import type { SelectQueryBuilder } from 'kysely';
import type { Overview } from '../contract/overview.ts';
import { lacksNeededValue } from './cells.ts';
import { textAtPath } from './differences.ts';
import { countOpenJobs } from './jobs.ts';
import type { Store } from './store.ts';
import { canBeEvaluated } from './sweeps.ts';
import { countTests } from './tests.ts';

/** Counts along the way through the job, and what waits to be done at the instant `now`. */
export async function readOverview(store: Store, now: string): Promise<Overview> {
  const { db } = store;
  const sealed = db.selectFrom('Test as x').where('x.state', '=', 'sealed');
  const newestRuns = db
    .selectFrom('Pairing')
    .select(({ fn }) => fn.max('id').as('id'))
    .groupBy('lotId');
  const ageing = await db
    .selectFrom('Fit')
    .select(({ fn }) => fn.count<number>('cellId').distinct().as('n'))
    .where('kind', '=', 'ageing')
    .where('supersededAt', 'is', null)
    .executeTakeFirstOrThrow();
  const newestLot = await db.selectFrom('Lot').select('id').orderBy('id', 'desc').executeTakeFirst();
  return {
    counts: {
      lots: await count(db.selectFrom('Lot')),
      cells: await count(db.selectFrom('Cell')),
      tests: await countTests(store),
      pairings: await count(db.selectFrom('Pairing')),
      stacks: await count(db.selectFrom('Stack')),
      ageingSeries: ageing.n,
      chargeStudies: await count(db.selectFrom('ChargeStudy')),
      exports: await count(db.selectFrom('Export')),
    },
    waiting: {
      testsNotEvaluated: await count(sealed.where('x.evaluatedAt', 'is', null).where(canBeEvaluated('x.id'))),
      evaluationsFailed: await count(sealed.where('x.evaluationError', 'is not', null)),
      cellsWithoutNeededValue: await count(db.selectFrom('Cell as c').where(await lacksNeededValue(store))),
      pairsToConfirm: await count(
        db.selectFrom('Pair').where('state', '=', 'proposed').where('pairingId', 'in', newestRuns),
      ),
      stacksToBuild: await count(db.selectFrom('Stack').where('state', '=', 'planned')),
      stacksDueForCheckUp: await count(
        db.selectFrom('Stack').where('state', '=', 'built').where('checkUpDueAt', '<=', now),
      ),
      stacksDrifting: await count(
        db
          .selectFrom('Fit as f')
          .innerJoin('Stack as s', 's.id', 'f.stackId')
          .where('f.kind', '=', 'stack-drift')
          .where('f.supersededAt', 'is', null)
          .where('s.state', '=', 'built')
          .where(({ ref, eb }) => eb(textAtPath<string>(ref('f.resultJson'), ['state']), '=', 'drifting')),
      ),
      jobsRunning: await countOpenJobs(store),
      jobsFailed: await count(db.selectFrom('Job').where('state', '=', 'failed')),
    },
    newestLotId: newestLot?.id ?? null,
  };
}

async function count<D, T extends keyof D>(query: SelectQueryBuilder<D, T, object>): Promise<number> {
  const { n } = await query
    .select(({ fn }) => fn.countAll<number>().as('n'))
    .$castTo<{ n: number }>()
    .executeTakeFirstOrThrow();
  return n;
}
