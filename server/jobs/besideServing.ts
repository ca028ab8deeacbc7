import type { Piscina } from 'piscina';
import type { Context } from '../context.ts';
import { Refusal } from '../errors.ts';
import { type Answered, answerOf } from '../threads/answered.ts';
import { makePool } from '../threads/pool.ts';
import { type AnswerTo, changing, type InputOf, type Question, type QuestionName } from './questions.ts';

/** Questions that wait for the thread; of more, each would only wait longer. */
const mostWaiting = 20;

const pools = new Map<'computing' | 'storing', Piscina>();

function poolFor(question: QuestionName): Piscina {
  const name = changing.has(question) ? 'storing' : 'computing';
  const pool = pools.get(name) ?? makePool(1, 'jobs/worker');
  pools.set(name, pool);
  return pool;
}

/**
 * Answers a question in a thread of its own, so that the service goes on answering others meanwhile. One computation and
 * one change go on at a time; some wait.
 *
 * @throws Refusal as the use case behind it, `too-many-requests` where too many wait
 */
export async function answerBesideServing<Name extends QuestionName>(
  { store, now, actor }: Context,
  question: Name,
  input: InputOf<Name>,
): Promise<AnswerTo<Name>> {
  const pool = poolFor(question);
  if (pool.queueSize >= mostWaiting)
    throw new Refusal(
      'too-many-requests',
      `${mostWaiting} long computations wait already; ask again when some of them have ended.`,
    );
  const asked: Question<Name> = { question, input, database: store.place, actor, nowMs: now().getTime() };
  const answered = (await pool.run(asked)) as Answered<AnswerTo<Name>>;
  return answerOf(answered);
}
