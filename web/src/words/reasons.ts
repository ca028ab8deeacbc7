import { reasonSentences } from '../../../server/contract/reasons.ts';

const sentences: Readonly<Record<string, string>> = reasonSentences;

/** The sentence for a code; a code without one is shown as it is, in plain words. */
export function reasonSentence(code: string | null | undefined): string {
  if (code === null || code === undefined || code === '') return '';
  return sentences[code] ?? `${plainCode(code)}.`;
}

/** `stage-current` → `stage current`. */
export function plainCode(code: string): string {
  return code.replaceAll('-', ' ').replaceAll('.', ' ');
}
