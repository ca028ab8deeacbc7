import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { spreadHeights } from '../../web/src/charts/endNames.ts';
import { en } from '../../web/src/words/en/index.ts';
import { germanSentences } from './germanSentences.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** Every source text of the service, with its placeholders as `{{}}` and joined strings as one. */
function serviceText(): string {
  const parts: string[] = [];
  for (const folder of ['server/assess', 'server/contract', 'server/import', 'server/use-cases'])
    for (const name of readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }))
      if (name.endsWith('.ts')) parts.push(readFileSync(join(root, folder, name), 'utf8'));
  return parts.join('\n');
}

describe('sentences of the service', () => {
  const german = germanSentences();

  it.each([
    ['ΔU/ΔI at the stated time after the step', 'ΔU/ΔI zur genannten Zeit nach dem Sprung'],
    ['circuit model with 2 RC', 'Ersatzschaltbild mit 2 RC'],
    [
      'Capacity of QM018: −13.9 % ± 0.2 from cycle 1 to 620.',
      'Kapazität von QM018: −13,9 % ± 0,2 von Zyklus 1 bis 620.',
    ],
    [
      'Capacity of A: +1.0 % from cycle 1 to 20. Capacity of B: −1.0 % from cycle 1 to 20.',
      'Kapazität von A: +1,0 % von Zyklus 1 bis 20. Kapazität von B: −1,0 % von Zyklus 1 bis 20.',
    ],
    [
      '1 C, complete at 0.05 C, each cell watched, ambient 25 °C.',
      '1 C, fertig bei 0,05 C, jede Zelle überwacht, Umgebung 25 °C.',
    ],
    [
      'QM001 from 10 % SOC to 4.2 V, rated 6.6 A, QM025 from 10 % SOC to 4.2 V, rated 6.6 A.',
      'QM001 von 10 % SOC bis 4,2 V, zugelassen 6,6 A, QM025 von 10 % SOC bis 4,2 V, zugelassen 6,6 A.',
    ],
    ['columns not used: "colour", "shift"', 'nicht verwendete Spalten: "colour", "shift"'],
    ['2 C until 60 % SOC, then 1 C, complete at 0.05 C.', '2 C bis 60 % SOC, dann 1 C, fertig bei 0,05 C.'],
    ['up to 20 V, 5 A, steps of 0.02 V', 'bis 20 V, 5 A, Schritte von 0,02 V'],
  ])('“%s” is said in German', (english, wanted) => {
    expect(german(english)).toBe(wanted);
  });

  it('leaves a sentence that has no German words to be marked as English', () => {
    expect(german('A sentence that nobody has translated.')).toBeNull();
  });

  it('are written by the service as the word table has them', () => {
    const source = serviceText();
    // Put together of a number and a word that stand apart in the source.
    const apart = ['pathOf', 'pathsOf'];
    const lacking = Object.entries(en.sentences).flatMap(([key, text]) => {
      const fixed = text
        .split(/\{\{\w+\}\}|[,;:(]/)
        .map((part) => part.trim().replace(/[.;:,()]+$/, ''))
        .filter((part) => part.length > 3);
      const found = fixed.length === 0 || fixed.some((part) => source.includes(part));
      return found || apart.includes(key) ? [] : [`${key}: ${fixed.join(' | ')}`];
    });
    expect(lacking).toEqual([]);
  });
});

describe('names at the ends of lines', () => {
  it('keep their distance and stay as near to their ends as the others allow', () => {
    expect(spreadHeights([100, 10, 200], 13)).toEqual([100, 10, 200]);
    const close = spreadHeights([50, 52, 51, 120], 13);
    const sorted = close.toSorted((a, b) => a - b);
    sorted.forEach((height, i) => {
      if (i > 0) expect(height - sorted[i - 1]).toBeGreaterThanOrEqual(13 - 1e-9);
    });
    expect(close[3]).toBe(120);
    expect((close[0] + close[1] + close[2]) / 3).toBeCloseTo(51, 6);
  });
});
