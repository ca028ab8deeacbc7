import type { EvaluatedPulseRecord } from '../contract/pulseRecord.ts';
import type { FitHead } from '../contract/tests.ts';
import { hasDocumentAt, numberAtPath, textAtPath } from './differences.ts';
import { refreshPresentValuesOf } from './presentValues.ts';
import type { Store } from './store.ts';

/** A fit with its documents as text; readers parse them by the versioned schema of its kind. */
export interface StoredFit extends FitHead {
  readonly lotId: number | null;
  readonly cellTypeId: number | null;
  readonly settingsJson: string;
  readonly inputsJson: string;
  readonly resultJson: string;
}

export interface NewFit {
  readonly kind: string;
  /** What is followed, where fits of one kind and subject stand side by side. */
  readonly quantity?: string;
  readonly testId?: number | null;
  readonly cellId?: number | null;
  readonly lotId?: number | null;
  readonly cellTypeId?: number | null;
  readonly stackId?: number | null;
  readonly algorithm: string;
  readonly algorithmVersion: string;
  readonly settings: unknown;
  readonly inputs: unknown;
  readonly result: unknown;
  readonly createdAt: string;
  readonly createdBy: string;
}

const head = [
  'f.id',
  'f.kind',
  'f.quantity',
  'f.testId',
  'f.cellId',
  'f.algorithm',
  'f.algorithmVersion',
  'f.createdAt',
  'f.createdBy',
  'f.supersededAt',
  'f.supersededById',
] as const;
const whole = [...head, 'f.lotId', 'f.cellTypeId', 'f.settingsJson', 'f.inputsJson', 'f.resultJson'] as const;

/**
 * Stores a fit. The present fit of the same kind, quantity and subject, with its measurements, is marked superseded by it;
 * to be called inside a transaction.
 */
export async function insertFit(store: Store, fit: NewFit): Promise<number> {
  const subject = {
    quantity: fit.quantity ?? null,
    testId: fit.testId ?? null,
    cellId: fit.cellId ?? null,
    lotId: fit.lotId ?? null,
    cellTypeId: fit.cellTypeId ?? null,
    stackId: fit.stackId ?? null,
  };
  const { kind, algorithm, algorithmVersion, createdAt, createdBy } = fit;
  const { id } = await store.db
    .insertInto('Fit')
    .values({
      ...subject,
      kind,
      algorithm,
      algorithmVersion,
      settingsJson: JSON.stringify(fit.settings),
      inputsJson: JSON.stringify(fit.inputs),
      resultJson: JSON.stringify(fit.result),
      createdAt,
      createdBy,
    })
    .returning('id')
    .executeTakeFirstOrThrow();
  const older = await store.db
    .selectFrom('Fit')
    .select('id')
    .where('kind', '=', kind)
    .where('quantity', 'is not distinct from', subject.quantity)
    .where('testId', 'is not distinct from', subject.testId)
    .where('cellId', 'is not distinct from', subject.cellId)
    .where('lotId', 'is not distinct from', subject.lotId)
    .where('cellTypeId', 'is not distinct from', subject.cellTypeId)
    .where('stackId', 'is not distinct from', subject.stackId)
    .where('supersededAt', 'is', null)
    .where('id', '<>', id)
    .execute();
  for (const each of older) await supersede(store, each.id, id, createdAt);
  return id;
}

async function supersede(store: Store, id: number, byFitId: number, at: string): Promise<void> {
  await store.db
    .updateTable('Fit')
    .set({ supersededAt: at, supersededById: byFitId })
    .where('id', '=', id)
    .execute();
  const changed = await store.db
    .updateTable('Measurement')
    .set({ supersededAt: at })
    .where('fitId', '=', id)
    .where('supersededAt', 'is', null)
    .returning(['cellId', 'quantity'])
    .execute();
  await refreshPresentValuesOf(store, changed);
}

/** Marks the valid fits of a test that are of other kinds as superseded, when the test's kind was changed. */
export async function supersedeOtherKinds(
  store: Store,
  testId: number,
  kind: string,
  byFitId: number,
  at: string,
): Promise<void> {
  const others = await store.db
    .selectFrom('Fit')
    .select('id')
    .where('testId', '=', testId)
    .where('kind', '<>', kind)
    .where('supersededAt', 'is', null)
    .execute();
  for (const { id } of others) await supersede(store, id, byFitId, at);
}

/** Marks every valid fit of tests as superseded by one that takes their place; their measurements too. */
export async function supersedeTestFits(
  store: Store,
  testIds: readonly number[],
  byFitId: number,
  at: string,
): Promise<void> {
  const valid = await store.db
    .selectFrom('Fit')
    .select('id')
    .where('testId', 'in', testIds)
    .where('id', '<>', byFitId)
    .where('supersededAt', 'is', null)
    .execute();
  for (const { id } of valid) await supersede(store, id, byFitId, at);
}

export async function findFit(store: Store, id: number): Promise<StoredFit | null> {
  const row = await store.db.selectFrom('Fit as f').select(whole).where('f.id', '=', id).executeTakeFirst();
  return row ?? null;
}

/** The valid fits, newest first. */
function validFits(store: Store) {
  return store.db
    .selectFrom('Fit as f')
    .select(whole)
    .where('f.supersededAt', 'is', null)
    .orderBy('f.id', 'desc');
}

/** The valid fits of a kind of the cells of a type, newest first. */
export async function listTypeFits(store: Store, cellTypeId: number, kind: string): Promise<StoredFit[]> {
  return validFits(store)
    .innerJoin('Cell as c', 'c.id', 'f.cellId')
    .innerJoin('Lot as l', 'l.id', 'c.lotId')
    .where('l.cellTypeId', '=', cellTypeId)
    .where('f.kind', '=', kind)
    .execute();
}

/** Cells of a lot in use (available or in a stack) that have a valid fit of a kind on a test of theirs. */
export async function listFittedCellIds(store: Store, lotId: number, kind: string): Promise<number[]> {
  const rows = await store.db
    .selectFrom('Fit as f')
    .innerJoin('Test as x', 'x.id', 'f.testId')
    .innerJoin('Cell as c', 'c.id', 'x.cellId')
    .select('c.id')
    .distinct()
    .where('c.lotId', '=', lotId)
    .where('c.state', 'in', ['available', 'in-stack'])
    .where('f.kind', '=', kind)
    .where('f.supersededAt', 'is', null)
    .where('x.state', '=', 'sealed')
    .orderBy('c.id')
    .execute();
  return rows.map((row) => row.id);
}

/** The valid fit of a test, or null where it was not evaluated. */
export async function findTestFit(store: Store, testId: number): Promise<StoredFit | null> {
  return (await validFits(store).where('f.testId', '=', testId).executeTakeFirst()) ?? null;
}

/** The valid fit of a kind of a cell as a whole (ageing, open-circuit). */
export async function findCellFit(store: Store, cellId: number, kind: string): Promise<StoredFit | null> {
  const found = validFits(store).where('f.cellId', '=', cellId).where('f.kind', '=', kind);
  return (await found.executeTakeFirst()) ?? null;
}

/** The valid fits of a kind of a cell as a whole, newest first: one of each quantity. */
export async function listCellFits(store: Store, cellId: number, kind: string): Promise<StoredFit[]> {
  return validFits(store).where('f.cellId', '=', cellId).where('f.kind', '=', kind).execute();
}

/** The valid fits of a kind of the stacks that a lot's cells are or were in. */
export async function listLotStackFits(store: Store, lotId: number, kind: string): Promise<StoredFit[]> {
  return validFits(store)
    .where('f.kind', '=', kind)
    .where('f.stackId', 'in', ({ selectFrom }) =>
      selectFrom('StackCell as k')
        .innerJoin('Cell as c', 'c.id', 'k.cellId')
        .select('k.stackId')
        .where('c.lotId', '=', lotId),
    )
    .execute();
}

/** The valid fits of a kind of a stack, newest first. */
export async function listStackFits(store: Store, stackId: number, kind: string): Promise<StoredFit[]> {
  return validFits(store).where('f.stackId', '=', stackId).where('f.kind', '=', kind).execute();
}

/** The valid fits of a kind of a lot as a whole, newest first: one of each quantity. */
export async function listLotFits(store: Store, lotId: number, kind: string): Promise<StoredFit[]> {
  return validFits(store).where('f.lotId', '=', lotId).where('f.kind', '=', kind).execute();
}

/** The valid fits of a kind from the tests of a cell, newest first. */
export async function listCellTestFits(store: Store, cellId: number, kind: string): Promise<StoredFit[]> {
  return validFits(store)
    .innerJoin('Test as x', 'x.id', 'f.testId')
    .where('x.cellId', '=', cellId)
    .where('f.kind', '=', kind)
    .where('x.state', '=', 'sealed')
    .execute();
}

/** An open-circuit curve that a valid evaluation of a cell's test holds, as the JSON it is stored as. */
export interface StoredOpenCircuit {
  readonly fitId: number;
  readonly testId: number;
  readonly cycle: number | null;
  readonly temperatureC: number | null;
  readonly curveJson: string;
  /** How the evaluation counted the state of charge; null where it did not. */
  readonly startSoc: number | null;
  readonly startSocBasis: EvaluatedPulseRecord['record']['startSocBasis'];
  readonly countedAh: number | null;
  readonly ratedAh: number | null;
  /** `stated` where the capacity was stated for the evaluation and holds whatever is measured. */
  readonly basis: string | null;
}

/** The open-circuit curves of a cell's valid evaluations. */
export async function listOpenCircuitCurves(store: Store, cellId: number): Promise<StoredOpenCircuit[]> {
  const rows = await store.db
    .selectFrom('Fit as f')
    .innerJoin('Test as x', 'x.id', 'f.testId')
    .select(['f.id as fitId', 'x.id as testId', 'x.cycle', 'x.temperatureC'])
    .select(({ ref }) => [
      textAtPath<string>(ref('f.resultJson'), ['openCircuit']).as('curveJson'),
      numberAtPath(ref('f.resultJson'), ['settings', 'startSoc']).as('statedSoc'),
      numberAtPath(ref('f.resultJson'), ['record', 'startSoc']).as('recordSoc'),
      textAtPath<EvaluatedPulseRecord['record']['startSocBasis']>(ref('f.resultJson'), [
        'record',
        'startSocBasis',
      ]).as('startSocBasis'),
      numberAtPath(ref('f.resultJson'), ['settings', 'cellCapacityAh']).as('ownAh'),
      numberAtPath(ref('f.resultJson'), ['settings', 'ratedCapacityAh']).as('ratedAh'),
      textAtPath<string | null>(ref('f.resultJson'), ['settings', 'cellCapacityBasis']).as('basis'),
    ])
    .where('x.cellId', '=', cellId)
    .where('f.kind', 'in', ['pulse', 'capacity'])
    .where('f.supersededAt', 'is', null)
    .where('x.state', '=', 'sealed')
    .where(({ ref }) => hasDocumentAt(ref('f.resultJson'), ['openCircuit']))
    .execute();
  return rows.map(({ statedSoc, recordSoc, ownAh, ...row }) => ({
    ...row,
    startSoc: recordSoc ?? statedSoc,
    countedAh: ownAh ?? row.ratedAh,
  }));
}

/** Every evaluation a test ever had, newest first. */
export async function listTestFits(store: Store, testId: number): Promise<FitHead[]> {
  return store.db
    .selectFrom('Fit as f')
    .select(head)
    .where('f.testId', '=', testId)
    .orderBy('f.id', 'desc')
    .execute();
}
