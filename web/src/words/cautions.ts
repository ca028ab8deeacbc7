import type { CautionCode } from '../../../server/contract/cautions.ts';
import { say } from './i18n.ts';

/** The sentence of a caution in the reader's language. */
export function cautionSentence(code: CautionCode): string {
  return say(`cautions.${code}`);
}
