import { type RawBuilder, sql } from 'kysely';
import type { Sweep } from '../../fitting/impedance/index.ts';
import { inOrder } from '../inOrder.ts';
import { insertRows } from './insertRows.ts';
import type { Store } from './store.ts';

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

/** Condition that a test has a record or spectra, so that it can be evaluated. `testId` names its column in the query. */
export function canBeEvaluated(testId: string): RawBuilder<boolean> {
  const id = sql.ref(testId);
  return sql<boolean>`(exists (select 1 from "Record" where "Record"."testId" = ${id})
    or exists (select 1 from "Sweep" where "Sweep"."testId" = ${id}))`;
}

const pointColumns = ['sweepId', 'position', 'frequencyHz', 'realOhm', 'imaginaryOhm', 'sourceRow'] as const;

/** Stores the spectra of a test with their points; inside the transaction that takes the file. */
export async function insertSweeps(store: Store, testId: number, sweeps: readonly NewSweep[]): Promise<void> {
  for (const [position, sweep] of sweeps.entries()) {
    const { label, soc, chargeAh, voltageV, temperatureC, sourceRows } = sweep;
    const { id: sweepId } = await store.db
      .insertInto('Sweep')
      .values({
        testId,
        position,
        label,
        soc,
        chargeAh,
        voltageV,
        temperatureC,
        sourceRowFirst: sourceRows.reduce((least, row) => Math.min(least, row), Infinity),
        sourceRowLast: sourceRows.reduce((greatest, row) => Math.max(greatest, row), 0),
      })
      .returning('id')
      .executeTakeFirstOrThrow();
    const { frequencyHz, realOhm, imaginaryOhm } = sweep.spectrum;
    const points = sourceRows.map((sourceRow, i) => ({
      sweepId,
      position: i,
      frequencyHz: frequencyHz[i],
      realOhm: realOhm[i],
      imaginaryOhm: imaginaryOhm[i],
      sourceRow,
    }));
    await insertRows(store, 'SweepPoint', pointColumns, points);
  }
}

/** The spectra of a test in the order of the file, each point bit for bit as it was read; none where it has none. */
export async function listSweeps(store: Store, testId: number): Promise<StoredSweep[]> {
  const sweeps = await store.db
    .selectFrom('Sweep')
    .select(['id', 'position', 'label', 'soc', 'chargeAh', 'voltageV', 'temperatureC'])
    .select(['sourceRowFirst', 'sourceRowLast'])
    .where('testId', '=', testId)
    .orderBy('position')
    .execute();
  return inOrder(sweeps, async ({ id, ...sweep }) => {
    const points = await store.db
      .selectFrom('SweepPoint')
      .select(['frequencyHz', 'realOhm', 'imaginaryOhm'])
      .where('sweepId', '=', id)
      .orderBy('position')
      .execute();
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
