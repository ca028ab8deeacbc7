import { type RawBuilder, sql } from 'kysely';
import type { Sweep } from '../../fitting/impedance/spectrum.ts';
import { inOrder } from '../inOrder.ts';
import type { SqlStore, Store } from './store.ts';

/** A spectrum as a file brings it: its condition, and its points in the order of the file. */
export interface NewSweep extends Sweep {
  /** Data row of each point in the source file, 1-based. */
  readonly sourceRows: readonly number[];
}

/** A stored spectrum. */
export interface StoredSweep extends Omit<NewSweep, 'sourceRows'> {
  readonly position: number;
  readonly sourceRowFirst: number;
  readonly sourceRowLast: number;
}

/** Whether the test `x` has spectra, in SQL: such a test can be evaluated without a record. */
export const hasSweeps = 'EXISTS (SELECT 1 FROM Sweep w WHERE w.testId = x.id)';

/** Condition that a test has a record or spectra, so that it can be evaluated. `testId` names its column in the query. */
export function canBeEvaluated(testId: string): RawBuilder<boolean> {
  const id = sql.ref(testId);
  return sql<boolean>`(exists (select 1 from "Record" where "Record"."testId" = ${id})
    or exists (select 1 from "Sweep" where "Sweep"."testId" = ${id}))`;
}

/** Stores the spectra of a test with their points; inside the transaction that takes the file. */
export async function insertSweeps(
  store: SqlStore,
  testId: number,
  sweeps: readonly NewSweep[],
): Promise<void> {
  for (const [position, sweep] of sweeps.entries()) {
    const { frequencyHz, realOhm, imaginaryOhm } = sweep.spectrum;
    const sweepId = (
      await store.run(
        `INSERT INTO Sweep (testId, position, label, soc, chargeAh, voltageV, temperatureC, sourceRowFirst, sourceRowLast)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
        testId,
        position,
        sweep.label,
        sweep.soc,
        sweep.chargeAh,
        sweep.voltageV,
        sweep.temperatureC,
        sweep.sourceRows.reduce((least, row) => Math.min(least, row), Infinity),
        sweep.sourceRows.reduce((greatest, row) => Math.max(greatest, row), 0),
      )
    ).id;
    for (let i = 0; i < frequencyHz.length; i++) {
      await store.run(
        `INSERT INTO SweepPoint (sweepId, position, frequencyHz, realOhm, imaginaryOhm, sourceRow)
         VALUES (?, ?, ?, ?, ?, ?)`,
        sweepId,
        i,
        frequencyHz[i],
        realOhm[i],
        imaginaryOhm[i],
        sweep.sourceRows[i],
      );
    }
  }
}

interface SweepRow extends Omit<StoredSweep, 'spectrum'> {
  readonly id: number;
}

/** The spectra of a test in the order of the file, each point bit for bit as it was read; none where it has none. */
export async function listSweeps(store: Store, testId: number): Promise<StoredSweep[]> {
  const sweeps = await store.all<SweepRow>(
    `SELECT id, position, label, soc, chargeAh, voltageV, temperatureC, sourceRowFirst, sourceRowLast
     FROM Sweep WHERE testId = ? ORDER BY position`,
    testId,
  );
  return await inOrder(sweeps, async ({ id, ...sweep }) => {
    const points = await store.all<{ frequencyHz: number; realOhm: number; imaginaryOhm: number }>(
      'SELECT frequencyHz, realOhm, imaginaryOhm FROM SweepPoint WHERE sweepId = ? ORDER BY position',
      id,
    );
    return {
      ...sweep,
      spectrum: {
        frequencyHz: Float64Array.from(points, (point) => point.frequencyHz),
        realOhm: Float64Array.from(points, (point) => point.realOhm),
        imaginaryOhm: Float64Array.from(points, (point) => point.imaginaryOhm),
      },
    };
  });
}
