import { z } from 'zod';
import type { Page } from '../contract/common.ts';
import { textAtPath } from './differences.ts';
import type { StoredFit } from './fits.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** An evaluation of stack logs as it is listed. */
export interface StackLogFitHead {
  readonly id: number;
  readonly stackId: number;
  readonly stackName: string;
  readonly logIds: number[];
  readonly algorithm: string;
  readonly createdAt: string;
  readonly createdBy: string;
  readonly supersededAt: string | null;
  readonly verdict: string;
}

type Row = Omit<StackLogFitHead, 'logIds' | 'algorithm' | 'verdict'> & {
  algorithmVersion: string;
  verdictJson: string | null;
};

function heads(store: Store) {
  return store.db
    .selectFrom('Fit as f')
    .innerJoin('Stack as s', 's.id', 'f.stackId')
    .select(['f.id', 's.id as stackId', 's.name as stackName', 'f.algorithmVersion'])
    .select(['f.createdAt', 'f.createdBy', 'f.supersededAt'])
    .select(({ ref }) =>
      textAtPath<string | null>(ref('f.resultJson'), ['comparison', 'verdict']).as('verdictJson'),
    );
}

async function present(
  store: Store,
  { algorithmVersion, verdictJson, ...row }: Row,
): Promise<StackLogFitHead> {
  const [verdict = ''] = parseStored(
    z.string().array(),
    verdictJson ?? '',
    `verdict of evaluation ${row.id}`,
  );
  return { ...row, algorithm: algorithmVersion, verdict, logIds: await listLogIds(store, row.id) };
}

async function listLogIds(store: Store, fitId: number): Promise<number[]> {
  const rows = await store.db
    .selectFrom('StackLogFit')
    .select('stackLogId')
    .where('fitId', '=', fitId)
    .orderBy('stackLogId')
    .execute();
  return rows.map(({ stackLogId }) => stackLogId);
}

/** A page of evaluations of stack logs, newest first. */
export async function pageStackLogFits(
  store: Store,
  query: { cursor?: string; limit: number; stackId?: number; logId?: number },
): Promise<Page<StackLogFitHead>> {
  const { stackId, logId, cursor, limit } = query;
  let ids = store.db.selectFrom('Fit').select('id').where('kind', '=', 'charge-log');
  if (logId !== undefined)
    ids = ids.where('id', 'in', ({ selectFrom }) =>
      selectFrom('StackLogFit').select('fitId').where('stackLogId', '=', logId),
    );
  return readPage<Row, StackLogFitHead>(store, {
    matching: matchingIds(ids, { stackId }),
    rows: (found) => heads(store).where('f.id', 'in', found).execute(),
    present: (row) => present(store, row),
    sort: 'id',
    descending: true,
    cursor,
    limit,
  });
}

/** The head of one evaluation of stack logs; null where the fit is none. */
export async function findStackLogFit(store: Store, id: number): Promise<StackLogFitHead | null> {
  const row = await heads(store).where('f.id', '=', id).where('f.kind', '=', 'charge-log').executeTakeFirst();
  return row === undefined ? null : present(store, row);
}

/** Stores which logs an evaluation is based on; to be called inside the transaction that stores it. */
export async function linkStackLogs(store: Store, fitId: number, logIds: readonly number[]): Promise<void> {
  await store.db
    .insertInto('StackLogFit')
    .values(logIds.map((stackLogId) => ({ fitId, stackLogId })))
    .execute();
}

const documents = ['f.id', 'f.settingsJson', 'f.inputsJson', 'f.resultJson'] as const;
export type FitDocuments = Pick<StoredFit, 'id' | 'settingsJson' | 'inputsJson' | 'resultJson'>;

/** The valid evaluations of a stack's logs with their documents, oldest first. */
export async function listStackLogFits(store: Store, stackId: number): Promise<FitDocuments[]> {
  return store.db
    .selectFrom('Fit as f')
    .select(documents)
    .where('f.stackId', '=', stackId)
    .where('f.kind', '=', 'charge-log')
    .where('f.supersededAt', 'is', null)
    .orderBy('f.id')
    .execute();
}
