import { written } from '../format/number.ts';
import { en } from './en/index.ts';
import { say } from './i18n.ts';
import { decimalMark, language } from './language.ts';

type Key = keyof typeof en.sentences;

/** Which places a text has follows from its pattern, which the compiler cannot see. */
const sayAny = say as unknown as (key: string, values: Readonly<Record<string, string>>) => string;

interface Pattern {
  readonly key: Key;
  readonly pattern: RegExp;
  readonly places: readonly string[];
}

/** The sentences of the service, those with the most fixed text first, so that the closest is found. */
const patterns: readonly Pattern[] = Object.entries(en.sentences)
  .map(([key, text]) => ({ key: key as Key, text }))
  .toSorted((a, b) => fixedLength(b.text) - fixedLength(a.text))
  .map(({ key, text }) => ({
    key,
    places: [...text.matchAll(/\{\{(\w+)\}\}/g)].map(([, name]) => name),
    pattern: new RegExp(
      `^${text
        .split(/\{\{\w+\}\}/)
        .map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
        .join('(.+?)')}$`,
    ),
  }));

function fixedLength(text: string): number {
  return text.replace(/\{\{\w+\}\}/g, '').length;
}

/** What the service wrote in the reader's language; null for a sentence that has no words there. */
export function sentenceWords(text: string): string | null {
  if (language === 'en') return text;
  // A place may hold anything, so the smaller parts come first.
  return inSentences(text) ?? inParts(text) ?? whole(text);
}

/** The same, with the service's own words where there are no others. */
export function said(text: string): string {
  return sentenceWords(text) ?? text;
}

function whole(text: string): string | null {
  if (isNumbers(text)) return written(text);
  for (const { key, pattern, places } of patterns) {
    const found = pattern.exec(text);
    if (found === null) continue;
    const values = Object.fromEntries(places.map((name, i) => [name, valueWords(found[i + 1])]));
    return sayAny(`sentences.${key}`, values);
  }
  return null;
}

/** `1 C`, `4.2 V`, `QM001`: a name or a quantity is the same in every language but for its decimal mark. */
function isNumbers(text: string): boolean {
  return /^[+−±-]?[\d.]+( (C|A|V|W|K|s|%|mΩ|mV|mA|Ω|°C|% SOC))?$/.test(text);
}

function valueWords(value: string): string {
  return whole(value) ?? value.replace(/(?<![A-Za-z_-]\d*)(\d)\.(\d)/g, `$1${decimalMark}$2`);
}

/** Several sentences after each other. */
function inSentences(text: string): string | null {
  const sentences = text.split(/(?<=\.) (?=[A-Z])/);
  return sentences.length < 2 ? null : joined(sentences, ' ');
}

/** Parts with commas between and a stop at the end. */
function inParts(text: string): string | null {
  const parts = text.replace(/\.$/, '').split(', ');
  if (parts.length < 2) return null;
  const said = joined(parts, ', ');
  return said === null ? null : said + (text.endsWith('.') ? '.' : '');
}

function joined(parts: readonly string[], between: string): string | null {
  const said = parts.map(whole);
  return said.some((part) => part === null) ? null : said.join(between);
}
