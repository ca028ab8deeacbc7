import type { Problem } from '../../../server/contract/common.ts';
import { en } from './en/index.ts';
import { say } from './i18n.ts';
import { sentenceWords } from './sentences.ts';

const isProblem = (code: string): code is keyof typeof en.problems => Object.hasOwn(en.problems, code);

/** What a request was refused for, in few words. */
export function problemTitle({ code, title }: Problem): string {
  return isProblem(code) ? say(`problems.${code}`) : title;
}

/**
 * What is wrong with one field, for beside it. Where the service's words have no others in the reader's language, it says
 * that the value is not possible; the exact words stand with the problem.
 */
export function fieldReason(reason: string, expected: string | null): string {
  const told = sentenceWords(reason);
  if (told === null) return say('general.thisValueIsNotPossible');
  const right = expected === null ? null : sentenceWords(expected);
  return right === null ? told : say('general.reasonExpectedExpected', { reason: told, expected: right });
}
