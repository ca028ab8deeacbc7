import type { FitHead } from '../contract/tests.ts';
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
  readonly algorithm: string;
  readonly algorithmVersion: string;
  readonly settings: unknown;
  readonly inputs: unknown;
  readonly result: unknown;
  readonly createdAt: string;
  readonly createdBy: string;
}

const head = `f.id, f.kind, f.quantity, f.testId, f.cellId, f.algorithm, f.algorithmVersion, f.createdAt, f.createdBy,
  f.supersededAt, f.supersededById`;
const whole = `${head}, f.lotId, f.cellTypeId, f.settingsJson, f.inputsJson, f.resultJson`;

/**
 * Stores a fit. The present fit of the same kind, quantity and subject, with its measurements, is marked superseded by it;
 * to be called inside a transaction.
 */
export async function insertFit(store: Store, fit: NewFit): Promise<number> {
  const subject = [
    fit.quantity ?? null,
    fit.testId ?? null,
    fit.cellId ?? null,
    fit.lotId ?? null,
    fit.cellTypeId ?? null,
  ];
  const id = (
    await store.run(
      `INSERT INTO Fit (kind, quantity, testId, cellId, lotId, cellTypeId, algorithm, algorithmVersion, settingsJson, inputsJson,
       resultJson, createdAt, createdBy) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      fit.kind,
      ...subject,
      fit.algorithm,
      fit.algorithmVersion,
      JSON.stringify(fit.settings),
      JSON.stringify(fit.inputs),
      JSON.stringify(fit.result),
      fit.createdAt,
      fit.createdBy,
    )
  ).id;
  const older = await store.all<{ id: number }>(
    `SELECT id FROM Fit WHERE kind = ? AND quantity IS ? AND testId IS ? AND cellId IS ? AND lotId IS ? AND cellTypeId IS ?
       AND supersededAt IS NULL AND id <> ?`,
    fit.kind,
    ...subject,
    id,
  );
  for (const { id: olderId } of older) {
    await store.run(
      'UPDATE Fit SET supersededAt = ?, supersededById = ? WHERE id = ?',
      fit.createdAt,
      id,
      olderId,
    );
    await store.run(
      'UPDATE Measurement SET supersededAt = ? WHERE fitId = ? AND supersededAt IS NULL',
      fit.createdAt,
      olderId,
    );
  }
  return id;
}

/** Marks the valid fits of a test that are of other kinds as superseded, when the test's kind was changed. */
export async function supersedeOtherKinds(
  store: Store,
  testId: number,
  kind: string,
  byFitId: number,
  at: string,
): Promise<void> {
  const others = await store.all<{ id: number }>(
    'SELECT id FROM Fit WHERE testId = ? AND kind <> ? AND supersededAt IS NULL',
    testId,
    kind,
  );
  for (const { id } of others) {
    await store.run('UPDATE Fit SET supersededAt = ?, supersededById = ? WHERE id = ?', at, byFitId, id);
    await store.run(
      'UPDATE Measurement SET supersededAt = ? WHERE fitId = ? AND supersededAt IS NULL',
      at,
      id,
    );
  }
}

export async function findFit(store: Store, id: number): Promise<StoredFit | null> {
  return (await store.get<StoredFit>(`SELECT ${whole} FROM Fit f WHERE f.id = ?`, id)) ?? null;
}

/** The valid fits of a kind of the cells of a type, newest first. */
export async function listTypeFits(store: Store, cellTypeId: number, kind: string): Promise<StoredFit[]> {
  return store.all<StoredFit>(
    `SELECT ${whole} FROM Fit f JOIN Cell c ON c.id = f.cellId JOIN Lot l ON l.id = c.lotId
     WHERE l.cellTypeId = ? AND f.kind = ? AND f.supersededAt IS NULL ORDER BY f.id DESC`,
    cellTypeId,
    kind,
  );
}

/** Cells of a lot in use (available or in a stack) that have a valid fit of a kind on a test of theirs. */
export async function listFittedCellIds(store: Store, lotId: number, kind: string): Promise<number[]> {
  return (
    await store.all<{ id: number }>(
      `SELECT DISTINCT c.id FROM Fit f JOIN Test x ON x.id = f.testId JOIN Cell c ON c.id = x.cellId
       WHERE c.lotId = ? AND c.state IN ('available', 'in-stack') AND f.kind = ? AND f.supersededAt IS NULL
         AND x.state = 'sealed' ORDER BY c.id`,
      lotId,
      kind,
    )
  ).map((row) => row.id);
}

/** The valid fit of a test, or null where it was not evaluated. */
export async function findTestFit(store: Store, testId: number): Promise<StoredFit | null> {
  return (
    (await store.get<StoredFit>(
      `SELECT ${whole} FROM Fit f WHERE f.testId = ? AND f.supersededAt IS NULL ORDER BY f.id DESC LIMIT 1`,
      testId,
    )) ?? null
  );
}

/** The valid fit of a kind of a cell as a whole (ageing, open-circuit). */
export async function findCellFit(store: Store, cellId: number, kind: string): Promise<StoredFit | null> {
  return (
    (await store.get<StoredFit>(
      `SELECT ${whole} FROM Fit f WHERE f.cellId = ? AND f.kind = ? AND f.supersededAt IS NULL ORDER BY f.id DESC LIMIT 1`,
      cellId,
      kind,
    )) ?? null
  );
}

/** The valid fits of a kind of a cell as a whole, newest first: one of each quantity. */
export async function listCellFits(store: Store, cellId: number, kind: string): Promise<StoredFit[]> {
  return store.all<StoredFit>(
    `SELECT ${whole} FROM Fit f WHERE f.cellId = ? AND f.kind = ? AND f.supersededAt IS NULL ORDER BY f.id DESC`,
    cellId,
    kind,
  );
}

/** The valid fits of a kind of a lot as a whole, newest first: one of each quantity. */
export async function listLotFits(store: Store, lotId: number, kind: string): Promise<StoredFit[]> {
  return store.all<StoredFit>(
    `SELECT ${whole} FROM Fit f WHERE f.lotId = ? AND f.kind = ? AND f.supersededAt IS NULL ORDER BY f.id DESC`,
    lotId,
    kind,
  );
}

/** The valid fits of a kind from the tests of a cell, newest first. */
export async function listCellTestFits(store: Store, cellId: number, kind: string): Promise<StoredFit[]> {
  return store.all<StoredFit>(
    `SELECT ${whole} FROM Fit f JOIN Test x ON x.id = f.testId
     WHERE x.cellId = ? AND f.kind = ? AND f.supersededAt IS NULL AND x.state = 'sealed' ORDER BY f.id DESC`,
    cellId,
    kind,
  );
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
  readonly countedAh: number | null;
}

/** The open-circuit curves of a cell's valid evaluations. */
export async function listOpenCircuitCurves(store: Store, cellId: number): Promise<StoredOpenCircuit[]> {
  return store.all<StoredOpenCircuit>(
    `SELECT f.id AS fitId, x.id AS testId, x.cycle, x.temperatureC, json_extract(f.resultJson, '$.openCircuit') AS curveJson,
            json_extract(f.resultJson, '$.settings.startSoc') AS startSoc,
            json_extract(f.resultJson, '$.settings.ratedCapacityAh') AS countedAh
     FROM Fit f JOIN Test x ON x.id = f.testId
     WHERE x.cellId = ? AND f.kind IN ('pulse', 'capacity') AND f.supersededAt IS NULL AND x.state = 'sealed'
       AND json_type(f.resultJson, '$.openCircuit') = 'object'`,
    cellId,
  );
}

/** Every evaluation a test ever had, newest first. */
export async function listTestFits(store: Store, testId: number): Promise<FitHead[]> {
  return store.all<FitHead>(`SELECT ${head} FROM Fit f WHERE f.testId = ? ORDER BY f.id DESC`, testId);
}
