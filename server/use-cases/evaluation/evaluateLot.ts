import type { Context } from '../../context.ts';
import { notFound, Refusal } from '../../errors.ts';
import { findLotHead } from '../../store/lots.ts';
import { listTestIds } from '../../store/tests.ts';
import { evaluateTest } from './evaluateTest.ts';

/** What became of a lot's tests. */
export interface LotEvaluation {
  readonly evaluated: number;
  readonly failed: { readonly testId: number; readonly reason: string }[];
}

/** Called before each test with how many are done of how many; throws to stop between two tests. */
export type LotProgress = (done: number, of: number) => void;

/**
 * Evaluates the tests of a lot, one transaction each, so that stopping leaves every test either as it was or wholly
 * evaluated. A test that cannot be evaluated does not stop the others.
 */
export async function evaluateLot(
  context: Context,
  lotId: number,
  options: { onlyNotEvaluated: boolean },
  onProgress: LotProgress = () => {},
): Promise<LotEvaluation> {
  if (!(await findLotHead(context.store, lotId))) throw notFound('lot', lotId);
  const tests = await listTestIds(context.store, lotId, options.onlyNotEvaluated);
  const failed: { testId: number; reason: string }[] = [];
  let evaluated = 0;
  for (const [done, testId] of tests.entries()) {
    onProgress(done, tests.length);
    try {
      await evaluateTest(context, testId);
      evaluated++;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      failed.push({ testId, reason: error.message });
    }
    // Gives the event loop its turn: requests are answered and a stop is noticed between two tests.
    await new Promise((resolve) => setImmediate(resolve));
  }
  onProgress(tests.length, tests.length);
  return { evaluated, failed };
}
