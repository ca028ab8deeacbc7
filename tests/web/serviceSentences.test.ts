import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { service } from '../../web/src/words/de/service/index.ts';
import { en } from '../../web/src/words/en/index.ts';
import { serviceSentences } from '../support/serviceSentences.ts';
import { germanSentences } from './germanSentences.ts';

const sentences = serviceSentences();
const english = new Set(sentences.map(({ text }) => text));

describe('what the service says in English of its own', () => {
  const german = germanSentences();

  it('is found in its source', () => {
    expect(sentences.length).toBeGreaterThan(350);
    expect(english).toContain('A lot named {{1}} is there already.');
    expect(english).toContain('Charged {{1}} % {{2}} than computed ({{3}}).');
  });

  it('has German for every sentence, or a code that has', () => {
    // They stand behind the name of what was fitted, as in the examples below.
    const parts = ['{{1}} {{2}} percentage points', '{{1}} in log {{2}}'];
    const lacking = sentences.filter(({ text, code }) => {
      if (parts.includes(text)) return false;
      if (code !== null && code in en.studyNotes) return false;
      return !(text in service) && german(text.replace(/\{\{\d+\}\}/g, '7')) === null;
    });
    expect(lacking.map(({ text, file }) => `${file}: ${text}`)).toEqual([]);
  });

  it('has no German for a long sentence that nobody says any more', () => {
    // What is put together of parts, and names of what was fitted with their change.
    const folder = fileURLToPath(new URL('../../server/', import.meta.url));
    const source = readdirSync(folder, { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.ts'))
      .map((name) => readFileSync(`${folder}${name}`, 'utf8'))
      .join('\n');
    const isSaid = (text: string) =>
      text.split(/\{\{\d+\}\}/).every((part) => part.trim().length < 12 || source.includes(part.trim()));
    const long = Object.keys(service).filter((text) => text.replace(/\{\{\d+\}\}/g, '').length > 45);
    expect(long.filter((text) => !english.has(text) && !text.includes('{{3}} ') && !isSaid(text))).toEqual(
      [],
    );
  });

  it('keeps every place of a sentence, but for the words of a library', () => {
    const placesOf = (text: string) => [...text.matchAll(/\{\{(\d+)\}\}/g)].map(([, place]) => place).sort();
    // The parser of JSON says what is wrong in English.
    const leftOut = ['The body of the request is not valid JSON: {{1}}.'];
    for (const [text, told] of Object.entries(service))
      expect([text, placesOf(told)]).toEqual([text, leftOut.includes(text) ? [] : placesOf(text)]);
  });

  it.each([
    ['There is no lot 999.', 'Das gibt es nicht: Los 999.'],
    [
      'Charged 3.2 % slower than computed (52.1 min against 50.5 min).',
      '3,2 % langsamer als berechnet geladen (52,1 min gegen 50,5 min).',
    ],
    [
      'QM001: 12 mV above the model from 20 % to 60 % SOC.',
      'QM001: 12 mV über dem Modell von 20 % bis 60 % SOC.',
    ],
    [
      'One change explains 87 % of the difference: R0 of QM001 +12.3 %.',
      'Eine Änderung erklärt 87 % des Unterschieds: R0 von QM001 +12,3 %.',
    ],
    [
      'One change explains 40 % of the difference: start SOC of A in log 2 −1.5 percentage points.',
      'Eine Änderung erklärt 40 % des Unterschieds: Ladezustand zu Beginn von A im Log 2 −1,5 Prozentpunkte.',
    ],
    [
      'The log does not determine slow branch of A and capacity of B: they are held as in the study, and the other values hold only with that.',
      'Aus dem Log nicht zu bestimmen: langsames RC-Glied von A und Kapazität von B. Die Werte bleiben wie in der Studie, und die anderen Werte gelten nur damit.',
    ],
    [
      'The stack Stack 3 is built; only a planned one can be undone.',
      'Der Stack Stack 3 ist gebaut; nur ein geplanter kann rückgängig gemacht werden.',
    ],
    ['at least 1 entry', 'mindestens 1 Eintrag'],
    ['one of: pairs, leave', 'eines von: pairs, leave'],
  ])('“%s” is said in German', (text, told) => {
    expect(german(text)).toBe(told);
  });

  it('is not half translated: a sentence that is not known stays as it is', () => {
    for (const text of [
      'above the hills of the moon',
      'is not what anyone said to us',
      'two rows of the sea',
    ])
      expect(german(text)).toBeNull();
  });
});
