import { en } from './en/index.ts';
import { say } from './i18n.ts';

const isReason = (code: string): code is keyof typeof en.reasons => Object.hasOwn(en.reasons, code);
const isCode = (code: string): code is keyof typeof en.codes => Object.hasOwn(en.codes, code);

/** The sentence for a code; a code without one is shown as it is, in plain words. */
export function reasonSentence(code: string | null | undefined): string {
  if (code === null || code === undefined || code === '') return '';
  return isReason(code) ? say(`reasons.${code}`) : `${plainCode(code)}.`;
}

/** The reader's words for the sentence of a reason as the service writes it; null for any other text. */
export function reasonOfSentence(text: string): string | null {
  const code = codeOfSentence.get(text) ?? codeOfSentence.get(`${text}.`);
  return code === undefined ? null : say(`reasons.${code}`);
}

const codeOfSentence = new Map<string, keyof typeof en.reasons>(
  Object.entries(en.reasons).map(([code, sentence]) => [sentence, code as keyof typeof en.reasons]),
);

/** A code in words: `set-aside` → `set aside`; one without words of its own as it is. */
export function plainCode(code: string): string {
  return isCode(code) ? say(`codes.${code}`) : code.replaceAll('-', ' ').replaceAll('.', ' ');
}

/** The words of a code that has some; any other text, as a name that a person gave, stays as it is. */
export function codeOrName(text: string): string {
  return isCode(text) ? say(`codes.${text}`) : text;
}

/** Several codes that stand in one text, apart by commas, in words. */
export function plainCodes(text: string): string {
  return text.split(', ').map(plainCode).join(', ');
}

/** A role of a column in words: `cell-voltage-1` → `cell voltage 1`. */
export function roleWords(role: string): string {
  const numbered = /^(.+)-(\d+)$/.exec(role);
  return numbered !== null && isCode(numbered[1])
    ? `${plainCode(numbered[1])} ${numbered[2]}`
    : plainCode(role);
}
