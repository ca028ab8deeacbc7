import i18next from 'i18next';
import { en } from './en/index.ts';

declare module 'i18next' {
  interface CustomTypeOptions {
    resources: { translation: typeof en };
  }
}

await i18next.init({
  lng: 'en',
  resources: { en: { translation: en } },
  interpolation: { escapeValue: false },
});

/** The text of a key in the reader's language, with what belongs in its places. */
export const say = i18next.t;
