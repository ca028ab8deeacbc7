import type { Context } from '../../context.ts';
import { notFound } from '../../errors.ts';
import { inOrder } from '../../inOrder.ts';
import { findLotHead } from '../../store/lots.ts';
import { listTestsToEvaluate, type TestToEvaluate } from '../../store/tests.ts';
import type { Crew } from '../../threads/crew.ts';
import { shareOut } from '../../threads/shareOut.ts';
import { outcomeOfTest, type TestOutcome } from './evaluateTests.ts';

/** What became of a lot's tests. */
export interface LotEvaluation {
  readonly evaluated: number;
  readonly failed: { readonly testId: number; readonly reason: string }[];
}

/** Called with how many tests are done of how many; throws to stop between two tests. */
export type LotProgress = (done: number, of: number) => void;

/**
 * Evaluates the tests of a lot, one transaction each, so that stopping leaves every test either as it was or wholly
 * evaluated. A test that cannot be evaluated does not stop the others.
 *
 * @param crew threads that may share the cells, each with a store of its own; null: all in this thread, in one order
 */
export async function evaluateLot(
  context: Context,
  lotId: number,
  options: { onlyNotEvaluated: boolean },
  onProgress: LotProgress = () => {},
  crew: Crew | null = null,
): Promise<LotEvaluation> {
  if (!(await findLotHead(context.store, lotId))) throw notFound('lot', lotId);
  const tests = await listTestsToEvaluate(context.store, lotId, options.onlyNotEvaluated);
  const outcomes =
    crew === null
      ? await oneByOne(context, tests, onProgress)
      : await cellByCell(context, tests, onProgress, crew);
  const reasons = new Map(outcomes.map(({ testId, refused }) => [testId, refused]));
  const failed = tests.flatMap(({ id }) => {
    const reason = reasons.get(id) ?? null;
    return reason === null ? [] : [{ testId: id, reason }];
  });
  return { evaluated: tests.length - failed.length, failed };
}

async function oneByOne(
  context: Context,
  tests: readonly TestToEvaluate[],
  onProgress: LotProgress,
): Promise<TestOutcome[]> {
  const outcomes = await inOrder(tests, async ({ id }, done) => {
    onProgress(done, tests.length);
    const outcome = await outcomeOfTest(context, id);
    // Gives the event loop its turn: requests are answered and a stop is noticed between two tests.
    await new Promise((resolve) => setImmediate(resolve));
    return outcome;
  });
  onProgress(tests.length, tests.length);
  return outcomes;
}

/**
 * The tests of one cell follow one another, because they read what came of those before; cells do not depend on one
 * another. A rest is read off a curve that may be another cell's, so rests wait until all others are done.
 */
async function cellByCell(
  { store, actor }: Context,
  tests: readonly TestToEvaluate[],
  onProgress: LotProgress,
  crew: Crew,
): Promise<TestOutcome[]> {
  const rounds = [tests.filter(({ kind }) => kind !== 'rest'), tests.filter(({ kind }) => kind === 'rest')];
  let before = 0;
  const outcomes = await inOrder(rounds, async (round) => {
    const cells = new Map<number, number[]>();
    for (const { id, cellId } of round) cells.set(cellId, [...(cells.get(cellId) ?? []), id]);
    const sharing = {
      crew,
      onProgress: (done: number) => onProgress(before + done, tests.length),
    };
    const common = { database: store.place, actor };
    const found = await shareOut(
      'evaluate-tests',
      common,
      [...cells.values()],
      sharing,
      ({ length }) => length,
    );
    before += round.length;
    return found.flat();
  });
  return outcomes.flat();
}
