import { en } from './en/index.ts';
import { say } from './i18n.ts';

const isKnown = (text: string): text is keyof typeof en.samples => Object.hasOwn(en.samples, text);

/** What a sample file or a column of one holds, in the reader's language. */
export function sampleWords(text: string): string {
  return isKnown(text) ? say(`samples.${text}`) : text;
}
