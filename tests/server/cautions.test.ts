import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { cautionSentences, furtherCautions, generalCautions } from '../../server/contract/cautions.ts';
import { cautionsFor } from '../../server/export/cautions.ts';

const root = fileURLToPath(new URL('../..', import.meta.url));

function sources(folder: string): string[] {
  return readdirSync(`${root}/${folder}`, { recursive: true, encoding: 'utf8' })
    .filter((path) => /\.tsx?$/.test(path) && !path.startsWith('store/client'))
    .map((path) => `${folder}/${path}`);
}

describe('cautions', () => {
  it('say what every advice needs: each cell, the datasheet, protection, local codes and a qualified person', () => {
    const said = generalCautions.map((code) => cautionSentences[code]).join(' ');
    expect(said).toMatch(/voltage of each cell, never only that of the stack/);
    expect(said).toMatch(/maker’s datasheet outranks every default and every computed figure/);
    expect(said).toMatch(/unattended without independent protection/);
    expect(said).toMatch(/local codes and have a qualified person decide/);
    expect(said).toMatch(/can burn/);
  });

  it('stand in one place, which pages, commands and exported files share', () => {
    const sentences = Object.values(cautionSentences);
    const elsewhere = [...sources('server'), ...sources('web/src'), ...sources('seed')].filter((path) => {
      if (path === 'server/contract/cautions.ts') return false;
      const text = readFileSync(`${root}/${path}`, 'utf8');
      return (
        sentences.some((sentence) => text.includes(sentence)) ||
        /unattended/.test(text.replaceAll('not-unattended', ''))
      );
    });
    expect(elsewhere).toEqual([]);
  });

  it('of an exported document begin with the general ones and name the limits that are common practice', () => {
    expect(cautionsFor([]).map(({ code }) => code)).toEqual([...generalCautions, 'valid-where-measured']);
    const { code, text } = cautionsFor(['charge voltage', 'cut-off voltage']).at(-1) ?? {
      code: '',
      text: '',
    };
    expect(code).toBe('default-limits-not-datasheet');
    expect(text).toContain('charge voltage, cut-off voltage');
    expect(text).toContain('no source claimed');
  });

  it('beyond the general ones are told once each', () => {
    expect(furtherCautions([...generalCautions, 'do-not-charge'])).toEqual(['do-not-charge']);
  });
});
