import i18next, { type FormatterModule } from 'i18next';
import { en } from './en/index.ts';
import { decimalMark, language } from './language.ts';

declare module 'i18next' {
  interface CustomTypeOptions {
    resources: { translation: typeof en };
  }
}

/** The texts of a language: the same keys as in English. */
export type Texts = {
  readonly [Room in keyof typeof en]: { readonly [Key in keyof (typeof en)[Room]]: string };
};

// German is fetched by those who read it only.
const texts: Texts = language === 'de' ? (await import('./de/index.ts')).de : en;

/** Writes the numbers in the places of a text with the language's decimal mark. */
const writer: FormatterModule = {
  type: 'formatter',
  init: () => undefined,
  add: () => undefined,
  addCached: () => undefined,
  format: (value: unknown) =>
    typeof value === 'number' ? String(value).replace('.', decimalMark) : String(value),
};

await i18next.use(writer).init({
  lng: language,
  nsSeparator: false,
  resources: { [language]: { translation: texts } },
  interpolation: { escapeValue: false, alwaysFormat: true },
});
if (typeof document !== 'undefined') document.documentElement.lang = language;

/** The text of a key in the reader's language, with what belongs in its places. */
export const say = i18next.t;
