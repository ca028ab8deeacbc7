import { afterAll, beforeAll, vi } from 'vitest';

type SentenceWords = (text: string) => string | null;

/** The German that the pages have for a sentence of the service, in the tests of the suite that calls this. */
export function germanSentences(): SentenceWords {
  let german: SentenceWords;
  beforeAll(async () => {
    vi.resetModules();
    vi.doMock('../../web/src/words/language.ts', () => ({
      language: 'de',
      locale: 'de-DE',
      decimalMark: ',',
    }));
    german = (await import('../../web/src/words/sentences.ts')).sentenceWords;
  });
  // Other tests of the same process read the pages in English.
  afterAll(() => {
    vi.doUnmock('../../web/src/words/language.ts');
    vi.resetModules();
  });
  return (text) => german(text);
}
