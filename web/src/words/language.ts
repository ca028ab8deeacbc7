/** The languages of the pages. */
export const languages = { en: 'English', de: 'Deutsch' } as const;
export type Language = keyof typeof languages;

const storageKey = 'gemel-language';

/** What the reader chose on this browser, or null where the browser's own language counts. */
export function chosenLanguage(): Language | null {
  try {
    const kept = localStorage.getItem(storageKey);
    return kept === 'en' || kept === 'de' ? kept : null;
  } catch {
    return null;
  }
}

/** Keeps the choice and shows the pages in it: every text is fetched once, when a page is loaded. */
export function chooseLanguage(language: Language | null): void {
  try {
    if (language === null) localStorage.removeItem(storageKey);
    else localStorage.setItem(storageKey, language);
  } catch {
    // Where storage is forbidden the browser's language counts.
  }
  location.reload();
}

/** The first language of the browser that the pages speak; English outside a browser. */
function browserLanguage(): Language {
  if (typeof document === 'undefined') return 'en';
  const known = navigator.languages.map((tag) => tag.slice(0, 2).toLowerCase());
  return known.find((tag): tag is Language => tag === 'en' || tag === 'de') ?? 'en';
}

export const language: Language = chosenLanguage() ?? browserLanguage();

/** The locale of numbers and dates: the reader's own variant of the language where the browser names one. */
export const locale: string =
  (typeof document === 'undefined'
    ? undefined
    : navigator.languages.find((tag) => tag.toLowerCase().startsWith(`${language}-`))) ??
  { en: 'en-GB', de: 'de-DE' }[language];

/** The decimal mark of the language. Swiss German writes a point. */
export const decimalMark: string =
  new Intl.NumberFormat(locale).formatToParts(1.5).find((part) => part.type === 'decimal')?.value ?? '.';

/** A noun as it stands in the middle of a sentence: small in English, with its capital in German. */
export function nounInside(noun: string): string {
  return language === 'de' ? noun : noun.toLowerCase();
}
