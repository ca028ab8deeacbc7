import { type ErrorPlace, Refusal } from '../errors.ts';
import { toRefusal } from '../problem.ts';

/** What a thread gives back: an error would lose what makes it a refusal on the way between threads. */
export type Answered<Answer = unknown> =
  | { readonly answer: Answer }
  | { readonly refused: { code: Refusal['code']; message: string; places: readonly ErrorPlace[] } };

/** The answer, or the refusal that the work ended with. @throws any other error as it is */
export async function answered<Answer>(work: () => Promise<Answer>): Promise<Answered<Answer>> {
  try {
    return { answer: await work() };
  } catch (error) {
    const { code, message, places } = toRefusal(error);
    if (code === 'internal') throw error;
    return { refused: { code, message, places } };
  }
}

/** @throws Refusal where the other thread ended with one */
export function answerOf<Answer>(given: Answered<Answer>): Answer {
  if ('answer' in given) return given.answer;
  const { code, message, places } = given.refused;
  throw new Refusal(code, message, places);
}
