import type { Actor, Context } from '../../context.ts';
import { Refusal } from '../../errors.ts';
import { type DatabasePlace, openFurtherStore } from '../../store/store.ts';
import { systemRandom } from '../../systemRandom.ts';
import { evaluateTest } from './evaluateTest.ts';

/** What became of one test: evaluated, or why not. */
export interface TestOutcome {
  readonly testId: number;
  readonly refused: string | null;
}

/** Evaluates one test. One that cannot be evaluated is an outcome, and no failure of the work. */
export async function outcomeOfTest(context: Context, testId: number): Promise<TestOutcome> {
  try {
    await evaluateTest(context, testId);
    return { testId, refused: null };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return { testId, refused: error.message };
  }
}

/** Evaluates tests of one cell, one after the other, with a store of its own. */
export async function evaluateTests(
  { database, actor }: { readonly database: DatabasePlace; readonly actor: Actor },
  testIds: readonly number[],
  isStopped: () => boolean,
): Promise<TestOutcome[]> {
  const store = await openFurtherStore(database);
  try {
    const context = { store, now: () => new Date(), actor, random: systemRandom };
    const outcomes: TestOutcome[] = [];
    for (const testId of testIds) {
      if (isStopped()) break;
      outcomes.push(await outcomeOfTest(context, testId));
    }
    return outcomes;
  } finally {
    await store.close();
  }
}
