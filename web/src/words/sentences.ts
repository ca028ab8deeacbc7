import { written } from '../format/number.ts';
import { en } from './en/index.ts';
import { decimalMark, language } from './language.ts';
import { codeOrName, reasonOfSentence } from './reasons.ts';

interface Pattern {
  readonly pattern: RegExp;
  readonly places: readonly string[];
  /** The same sentence for the reader. */
  readonly told: string;
  /** Has so few words of its own that it would fit a sentence that means something else. */
  readonly isShort: boolean;
}

const shortLetters = 14;
/** Words that no name or quantity holds, but every sentence. */
const english = /\b(the|of|and|is|are|with|not|to|for|by|from|has|was|an?|at|it|that|no|or|in|on)\b/;

/** English sentences with their German, fetched by those who read German only. */
const pairs: readonly (readonly [string, string])[] = language === 'de' ? await germanPairs() : [];

async function germanPairs(): Promise<[string, string][]> {
  const [{ de }, { service }] = await Promise.all([import('./de/index.ts'), import('./de/service/index.ts')]);
  const keys = Object.keys(en.sentences) as (keyof typeof en.sentences)[];
  return [
    ...keys.map((key): [string, string] => [en.sentences[key], de.sentences[key]]),
    ...Object.entries(service),
  ];
}

/** The sentences of the service, those with the most fixed text first, so that the closest is found. */
const patterns: readonly Pattern[] = pairs
  .toSorted(([a], [b]) => fixedLength(b) - fixedLength(a))
  .map(([text, told]) => ({
    told,
    isShort: fixedLength(text) < shortLetters,
    places: [...text.matchAll(/\{\{(\w+)\}\}/g)].map(([, name]) => name),
    pattern: new RegExp(
      `^${text
        .split(/\{\{\w+\}\}/)
        .map((part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
        .join('(.+?)')}$`,
    ),
  }));

/** The same sentence comes in many rows of a table. */
const known = new Map<string, string | null>();
const mostKnown = 5000;

function fixedLength(text: string): number {
  return text.replace(/\{\{\w+\}\}/g, '').length;
}

/** What the service wrote in the reader's language; null for a sentence that has no words there. */
export function sentenceWords(text: string): string | null {
  if (language === 'en') return text;
  const before = known.get(text);
  if (before !== undefined) return before;
  // A place may hold anything, so the smaller parts come first.
  const told =
    inSentences(text) ?? inParts(text, ', ') ?? inParts(text, '; ') ?? whole(text) ?? withoutStop(text);
  if (known.size >= mostKnown) known.clear();
  known.set(text, told);
  return told;
}

/** The same, with the service's own words where there are no others. */
export function said(text: string): string {
  return sentenceWords(text) ?? text;
}

/** Part of a sentence in the table, which stands here as a sentence of its own. */
function withoutStop(text: string): string | null {
  const told = text.endsWith('.') ? whole(text.slice(0, -1)) : null;
  return told === null ? null : `${told.charAt(0).toUpperCase()}${told.slice(1)}.`;
}

function whole(text: string): string | null {
  if (isNumbers(text)) return written(text);
  for (const { told, pattern, places, isShort } of patterns) {
    const found = pattern.exec(text);
    if (found === null) continue;
    const values = places.map((name, i) => [`{{${name}}}`, valueWords(found[i + 1])] as const);
    if (isShort && values.some(([, value]) => english.test(value))) continue;
    return values.reduce((said, [place, value]) => said.replaceAll(place, () => value), told);
  }
  return reasonOfSentence(text) ?? ofField(text);
}

/** `cells.1: …` and `features.0.tolerance …`: the name of a field before what is said of it. */
function ofField(text: string): string | null {
  const [, field, between, rest] = /^([\w.[\]]+)(: | )(.+)$/.exec(text) ?? [];
  if (rest === undefined || !/[.[:]/.test(field + between)) return null;
  const said = whole(rest.replace(/\.$/, ''));
  return said === null ? null : `${field}${between}${said}${rest.endsWith('.') ? '.' : ''}`;
}

/** `1 C`, `4.2 V`, `QM001`: a name or a quantity is the same in every language but for its decimal mark. */
function isNumbers(text: string): boolean {
  return /^[+−±-]?[\d.]+( (C|A|V|W|K|s|%|mΩ|mV|mA|Ω|°C|% SOC))?$/.test(text);
}

function valueWords(value: string): string {
  const said = inAnd(value) ?? whole(value) ?? inParts(value, '; ');
  if (said !== null) return said;
  const word = codeOrName(value);
  return word !== value ? word : value.replace(/(?<![A-Za-z_-]\d*)(\d)\.(\d)/g, `$1${decimalMark}$2`);
}

/** Several things of which each has words of its own. */
function inAnd(value: string): string | null {
  const parts = value.split(' and ');
  return parts.length < 2 ? null : joined(parts, ' und ');
}

/** Several sentences after each other. */
function inSentences(text: string): string | null {
  const sentences = text.split(/(?<=\.) (?=[A-Z])/);
  return sentences.length < 2 ? null : joined(sentences, ' ');
}

/** Parts with commas or semicolons between and a stop at the end. */
function inParts(text: string, between: ', ' | '; '): string | null {
  const parts = text.replace(/\.$/, '').split(between);
  if (parts.length < 2) return null;
  const said = joined(parts, between);
  return said === null ? null : said + (text.endsWith('.') ? '.' : '');
}

function joined(parts: readonly string[], between: string): string | null {
  const said = parts.map(whole);
  return said.some((part) => part === null) ? null : said.join(between);
}
