import { z } from 'zod';
import type { ChargeStudyHead } from '../contract/chargeStudies.ts';
import type { Page } from '../contract/common.ts';
import { matchingIds, readPage } from './page.ts';
import type { Store } from './store.ts';
import { parseStored } from './storedJson.ts';

/** The inputs of a study, stored with it. */
export interface ChargeStudyInputs {
  readonly cellIds: readonly number[];
  readonly fitIds: readonly number[];
  readonly jobId: number | null;
}

/** A study as stored, its documents as text. */
export interface ChargeStudyRow {
  readonly id: number;
  readonly version: number;
  readonly name: string;
  readonly createdAt: string;
  readonly createdBy: string;
  readonly state: ChargeStudyHead['state'];
  readonly error: string | null;
  readonly stackId: number | null;
  readonly inputsJson: string;
  readonly descriptionJson: string;
  readonly resultJson: string | null;
}

export interface NewChargeStudy {
  readonly name: string;
  readonly cellTypeId: number | null;
  readonly cellId: number | null;
  readonly stackId: number | null;
  readonly descriptionJson: string;
  readonly inputs: ChargeStudyInputs;
  readonly algorithm: string;
  readonly algorithmVersion: string;
  readonly createdAt: string;
  readonly createdBy: string;
}

const head = [
  'id',
  'version',
  'name',
  'createdAt',
  'createdBy',
  'state',
  'error',
  'stackId',
  'inputsJson',
] as const;

/** Stores a study that waits for its job. */
export async function insertChargeStudy(store: Store, { inputs, ...study }: NewChargeStudy): Promise<number> {
  const { id } = await store.db
    .insertInto('ChargeStudy')
    .values({ ...study, inputsJson: JSON.stringify(inputs), state: 'waiting' })
    .returning('id')
    .executeTakeFirstOrThrow();
  return id;
}

/** Notes which job computes a study. */
export async function setChargeStudyInputs(
  store: Store,
  id: number,
  inputs: ChargeStudyInputs,
): Promise<void> {
  await store.db
    .updateTable('ChargeStudy')
    .set({ inputsJson: JSON.stringify(inputs) })
    .where('id', '=', id)
    .execute();
}

export async function findChargeStudy(store: Store, id: number): Promise<ChargeStudyRow | null> {
  const row = await store.db
    .selectFrom('ChargeStudy')
    .select([...head, 'descriptionJson', 'resultJson'])
    .where('id', '=', id)
    .executeTakeFirst();
  return row ?? null;
}

/** Keeps a result, or why there is none. */
export async function finishChargeStudy(
  store: Store,
  id: number,
  how: { readonly resultJson: string } | { readonly error: string },
): Promise<void> {
  await store.db
    .updateTable('ChargeStudy')
    .set(({ eb }) => ({
      ...('error' in how
        ? { state: 'failed' as const, resultJson: null, error: how.error }
        : { state: 'done' as const, resultJson: how.resultJson, error: null }),
      version: eb('version', '+', 1),
    }))
    .where('id', '=', id)
    .execute();
}

export async function startChargeStudy(store: Store, id: number): Promise<void> {
  await store.db
    .updateTable('ChargeStudy')
    .set({ state: 'running', error: null })
    .where('id', '=', id)
    .execute();
}

/** @returns false where the study is not there in that version. */
export async function deleteChargeStudy(store: Store, id: number, version: number): Promise<boolean> {
  const { numDeletedRows } = await store.db
    .deleteFrom('ChargeStudy')
    .where('id', '=', id)
    .where('version', '=', version)
    .executeTakeFirstOrThrow();
  return numDeletedRows === 1n;
}

/** A page of the studies, newest first. */
export async function pageChargeStudies(
  store: Store,
  query: { cursor?: string; limit: number; stackId?: number },
): Promise<Page<ChargeStudyHead>> {
  const { stackId, cursor, limit } = query;
  return readPage<ChargeStudyHeadRow, ChargeStudyHead>(store, {
    matching: matchingIds(store.db.selectFrom('ChargeStudy').select(['id', 'createdAt as sortValue']), {
      stackId,
    }),
    rows: (ids) => store.db.selectFrom('ChargeStudy').select(head).where('id', 'in', ids).execute(),
    present: presentHead,
    sort: 'sortValue',
    descending: true,
    cursor,
    limit,
  });
}

type ChargeStudyHeadRow = Omit<ChargeStudyRow, 'descriptionJson' | 'resultJson'>;

/** The head of a study from its row. */
export function presentHead(row: ChargeStudyHeadRow): ChargeStudyHead {
  const { id, version, name, createdAt, createdBy, state, error, stackId } = row;
  const { cellIds, jobId } = readInputs(row.inputsJson, id);
  return { id, version, name, createdAt, createdBy, state, error, stackId, cellIds: [...cellIds], jobId };
}

const storedInputs = z.object({
  cellIds: z.array(z.number()).default([]),
  fitIds: z.array(z.number()).default([]),
  jobId: z.number().nullable().default(null),
});

/** The inputs of a study; one that was stored without any has none. */
export function readInputs(json: string, studyId: number): ChargeStudyInputs {
  return parseStored(storedInputs, json, `inputs of charge study ${studyId}`);
}
