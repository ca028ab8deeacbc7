import { en } from './en/index.ts';
import { say } from './i18n.ts';

type Code = Exclude<keyof typeof en.refusals, `${string}-do`>;
const isRefusal = (code: string): code is Code => Object.hasOwn(en.refusals, code);

/** What is wrong with a file and what can be done on the page; null for a code that has no words. */
export function refusalWords(code: string): { readonly what: string; readonly todo: string } | null {
  return isRefusal(code) ? { what: say(`refusals.${code}`), todo: say(`refusals.${code}-do`) } : null;
}
