import { sentenceWords } from '../words/sentences.ts';

/** A sentence of the service in the reader's language; marked as English where it has no words in that. */
export function Said({ text }: { readonly text: string }) {
  const words = sentenceWords(text);
  return words === null ? <span lang="en">{text}</span> : words;
}
