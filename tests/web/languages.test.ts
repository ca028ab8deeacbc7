import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { fileSamples } from '../../server/contract/fileSamples.ts';
import { type ErrorCode, Refusal } from '../../server/errors.ts';
import { refusalCodes } from '../../server/import/refusedFile.ts';
import { problemOf } from '../../server/problem.ts';
import { de } from '../../web/src/words/de/index.ts';
import { en } from '../../web/src/words/en/index.ts';

type Rooms = Readonly<Record<string, Readonly<Record<string, string>>>>;
const english: Rooms = en;
const german: Rooms = de;
const source = fileURLToPath(new URL('../../web/src/', import.meta.url));

function textsOf(rooms: Rooms): [string, string][] {
  return Object.entries(rooms).flatMap(([room, texts]) =>
    Object.entries(texts).map(([key, text]): [string, string] => [`${room}.${key}`, text]),
  );
}

const places = (text: string) => [...text.matchAll(/\{\{(\w+)\}\}/g)].map(([, name]) => name).sort();
const edges = (text: string) => [/^\s*/.exec(text)?.[0], /\s*$/.exec(text)?.[0]];

describe('the two languages of the pages', () => {
  it('have the same rooms and the same keys', () => {
    expect(
      textsOf(german)
        .map(([key]) => key)
        .sort(),
    ).toEqual(
      textsOf(english)
        .map(([key]) => key)
        .sort(),
    );
  });

  it('have the same places for values in each text, and the same blanks at its ends', () => {
    const inGerman = new Map(textsOf(german));
    for (const [key, text] of textsOf(english)) {
      const other = inGerman.get(key) ?? '';
      expect([key, places(other), edges(other)]).toEqual([key, places(text), edges(text)]);
      expect([key, other.trim() === ''], 'an empty text').toEqual([key, text.trim() === '']);
    }
  });

  it('say nothing in both that is a sentence of one', () => {
    const inGerman = new Map(textsOf(german));
    const sentence = /\b(the|of|and|is|are|with|not|to|for|by|from)\b/;
    const same = textsOf(english).filter(([key, text]) => inGerman.get(key) === text && sentence.test(text));
    expect(same.map(([key]) => key)).toEqual([]);
  });

  it('hold every text of the pages: none stands in a page itself', () => {
    const attribute = /\b(?:label|description|placeholder|title|summary|aria-label)="[^"]*[A-Za-z]{3}[^"]*"/;
    const text = />[^<>{}=;()]*[A-Za-z]{3,} [A-Za-z]{2,}[^<>{}=;()]*<\//;
    const own = readdirSync(source, { recursive: true, encoding: 'utf8' })
      .filter((path) => path.endsWith('.tsx'))
      .flatMap((path) => {
        const code = readFileSync(`${source}${path}`, 'utf8').replace(/\/\*.*?\*\/|\/\/.*$/gms, '');
        return [attribute.exec(code)?.[0], text.exec(code)?.[0]].flatMap((found) =>
          found === undefined ? [] : [`${path}: ${found}`],
        );
      });
    expect(own).toEqual([]);
  });

  it('hold no text that no page uses', () => {
    const files = readdirSync(source, { recursive: true, encoding: 'utf8' })
      .filter((path) => /\.tsx?$/.test(path) && !/^words[\\/](en|de)[\\/]/.test(path))
      .map((path) => readFileSync(`${source}${path}`, 'utf8'));
    const used = new Set(files.flatMap((text) => [...text.matchAll(/'(\w+\.\w+)'/g)].map(([, key]) => key)));
    // These are looked up by the code that an answer holds.
    const byCode = new Set([
      'asked',
      'codes',
      'reasons',
      'cautions',
      'samples',
      'refusals',
      'sentences',
      'problems',
      'studyNotes',
    ]);
    const unused = textsOf(english).filter(([key]) => !byCode.has(key.split('.')[0]) && !used.has(key));
    expect(unused.map(([key]) => key)).toEqual([]);
  });

  it('say of every refusal of a file what is wrong and what can be done on the page, without an option of the command line', () => {
    for (const code of refusalCodes)
      for (const words of [english.refusals, german.refusals]) {
        expect(words[code], code).toMatch(/\.$/);
        expect(words[`${code}-do`], code).toMatch(/\.$/);
        expect(`${words[code]} ${words[`${code}-do`]}`).not.toContain('--');
      }
    expect(Object.keys(english.refusals)).toHaveLength(2 * refusalCodes.length);
  });

  it('have a title for every problem document of the service', () => {
    const codes = Object.keys(english.problems).map((code) => problemOf(new Refusal(code as ErrorCode, '')));
    expect(codes.map(({ code, title }) => [code, title])).toEqual(Object.entries(english.problems));
    const source = readFileSync(new URL('../../server/problem.ts', import.meta.url), 'utf8');
    expect(codes).toHaveLength(source.split('satisfies')[0].match(/^ {2}['a-z-]+: '/gm)?.length ?? 0);
  });

  it('name what every sample file and each of its columns holds', () => {
    const said = fileSamples.flatMap((sample) => [sample.title, ...sample.columns.map((c) => c.holds)]);
    expect(said.filter((text) => !(text in english.samples))).toEqual([]);
  });
});
