import type { ChargeStudyHead } from '../contract/chargeStudies.ts';
import type { Page } from '../contract/common.ts';
import { readPage } from './page.ts';
import type { SqlValue, Store } from './store.ts';

/** What a study rests on, kept beside it. */
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

const head = 's.id, s.version, s.name, s.createdAt, s.createdBy, s.state, s.error, s.stackId, s.inputsJson';

/** Stores a study that waits for its job. */
export async function insertChargeStudy(store: Store, study: NewChargeStudy): Promise<number> {
  return (
    await store.run(
      `INSERT INTO ChargeStudy (name, cellTypeId, cellId, stackId, descriptionJson, algorithm, algorithmVersion,
       inputsJson, state, createdAt, createdBy) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 'waiting', ?, ?)`,
      study.name,
      study.cellTypeId,
      study.cellId,
      study.stackId,
      study.descriptionJson,
      study.algorithm,
      study.algorithmVersion,
      JSON.stringify(study.inputs),
      study.createdAt,
      study.createdBy,
    )
  ).id;
}

/** Notes which job computes a study. */
export async function setChargeStudyInputs(
  store: Store,
  id: number,
  inputs: ChargeStudyInputs,
): Promise<void> {
  await store.run('UPDATE ChargeStudy SET inputsJson = ? WHERE id = ?', JSON.stringify(inputs), id);
}

export async function findChargeStudy(store: Store, id: number): Promise<ChargeStudyRow | null> {
  return (
    (await store.get<ChargeStudyRow>(
      `SELECT ${head}, s.descriptionJson, s.resultJson FROM ChargeStudy s WHERE s.id = ?`,
      id,
    )) ?? null
  );
}

/** Keeps a result, or why there is none. */
export async function finishChargeStudy(
  store: Store,
  id: number,
  how: { readonly resultJson: string } | { readonly error: string },
): Promise<void> {
  const [state, result, error] =
    'error' in how ? ['failed', null, how.error] : ['done', how.resultJson, null];
  await store.run(
    'UPDATE ChargeStudy SET state = ?, resultJson = ?, error = ?, version = version + 1 WHERE id = ?',
    state,
    result,
    error,
    id,
  );
}

export async function startChargeStudy(store: Store, id: number): Promise<void> {
  await store.run("UPDATE ChargeStudy SET state = 'running', error = NULL WHERE id = ?", id);
}

/** @returns false where the study is not there in that version. */
export async function deleteChargeStudy(store: Store, id: number, version: number): Promise<boolean> {
  return (await store.run('DELETE FROM ChargeStudy WHERE id = ? AND version = ?', id, version)).changes > 0;
}

/** A page of the studies, newest first. */
export async function pageChargeStudies(
  store: Store,
  query: { cursor?: string; limit: number; stackId?: number },
): Promise<Page<ChargeStudyHead>> {
  const where: string[] = [];
  const values: SqlValue[] = [];
  if (query.stackId !== undefined) {
    where.push('s.stackId = ?');
    values.push(query.stackId);
  }
  return readPage<Omit<ChargeStudyRow, 'descriptionJson' | 'resultJson'>, ChargeStudyHead>(
    store,
    {
      select: head,
      from: 'ChargeStudy s',
      where,
      values,
      idColumn: 's.id',
      sortBy: { sql: 's.createdAt', values: [] },
      descending: true,
      cursor: query.cursor,
      limit: query.limit,
    },
    presentHead,
  );
}

/** The head of a study from its row. */
export function presentHead(row: Omit<ChargeStudyRow, 'descriptionJson' | 'resultJson'>): ChargeStudyHead {
  const { id, version, name, createdAt, createdBy, state, error, stackId } = row;
  const { cellIds, jobId } = readInputs(row.inputsJson);
  return { id, version, name, createdAt, createdBy, state, error, stackId, cellIds: [...cellIds], jobId };
}

/** The inputs of a study; one that was stored without any has none. */
export function readInputs(json: string): ChargeStudyInputs {
  const value = JSON.parse(json) as Partial<ChargeStudyInputs>;
  return { cellIds: value.cellIds ?? [], fitIds: value.fitIds ?? [], jobId: value.jobId ?? null };
}
