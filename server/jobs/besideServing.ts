import type { Piscina } from 'piscina';
import type { Context } from '../context.ts';
import { type ErrorPlace, Refusal } from '../errors.ts';
import { makePool } from './pool.ts';
import { type AnswerTo, changing, type InputOf, type Question, type QuestionName } from './questions.ts';

/** Questions that wait for the thread; of more, each would only wait longer. */
const mostWaiting = 20;

const pools = new Map<'computing' | 'storing', Piscina>();

function poolFor(question: QuestionName): Piscina {
  const name = changing.has(question) ? 'storing' : 'computing';
  const pool = pools.get(name) ?? makePool(1);
  pools.set(name, pool);
  return pool;
}

/** What a thread gives back: an error would lose what makes it a refusal on the way between threads. */
export type Answered =
  | { readonly answer: unknown }
  | { readonly refused: { code: Refusal['code']; message: string; places: readonly ErrorPlace[] } };

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
  const answered = (await pool.run(asked)) as Answered;
  if ('answer' in answered) return answered.answer as AnswerTo<Name>;
  const { code, message, places } = answered.refused;
  throw new Refusal(code, message, places);
}
