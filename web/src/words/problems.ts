import type { Problem } from '../../../server/contract/common.ts';
import { en } from './en/index.ts';
import { say } from './i18n.ts';
import { language } from './language.ts';

const isProblem = (code: string): code is keyof typeof en.problems => Object.hasOwn(en.problems, code);

/** What a request was refused for, in few words. */
export function problemTitle({ code, title }: Problem): string {
  return isProblem(code) ? say(`problems.${code}`) : title;
}

/**
 * What is wrong with one field, for beside it. In another language than the service's it says that the value is not
 * possible; the exact words stand with the problem.
 */
export function fieldReason(reason: string, expected: string | null): string {
  if (language !== 'en') return say('general.thisValueIsNotPossible');
  return expected === null ? reason : say('general.reasonExpectedExpected', { reason, expected });
}
