import { type CautionCode, cautionSentences, generalCautions } from '../contract/cautions.ts';
import type { ParameterSet } from '../contract/parameterSet.ts';

type Caution = ParameterSet['cautions'][number];

/** The cautions of a document. @param commonPractice limits that are not from the datasheet */
export function cautionsFor(commonPractice: readonly string[]): Caution[] {
  const always: readonly CautionCode[] = [...generalCautions, 'valid-where-measured'];
  const cautions = always.map((code) => ({ code, text: cautionSentences[code] }));
  if (commonPractice.length === 0) return cautions;
  const code: CautionCode = 'default-limits-not-datasheet';
  return [...cautions, { code, text: `${cautionSentences[code]} These are: ${commonPractice.join(', ')}.` }];
}
