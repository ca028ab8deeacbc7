import type { Context } from '../../context.ts';
import type { Sweep } from '../../contract/impedance.ts';
import { notFound } from '../../errors.ts';
import { listSweeps } from '../../store/sweeps.ts';
import { findTest } from '../../store/tests.ts';

/** The spectra of a test. @throws Refusal `not-found` */
export async function readSweeps(context: Context, testId: number): Promise<{ items: Sweep[] }> {
  if (!(await findTest(context.store, testId))) throw notFound('test', testId);
  return {
    items: (await listSweeps(context.store, testId)).map(({ spectrum, ...sweep }) => ({
      ...sweep,
      frequencyHz: [...spectrum.frequencyHz],
      realOhm: [...spectrum.realOhm],
      imaginaryOhm: [...spectrum.imaginaryOhm],
    })),
  };
}
