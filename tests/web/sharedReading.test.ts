import { describe, expect, it } from 'vitest';
import type { ImportPreview } from '../../server/contract/import.ts';
import { sameShape, withChange, withReading } from '../../web/src/pages/import/sharedReading.ts';

const preview = (header: string[], code: string | null = null) =>
  ({ header, refusal: code === null ? null : { code } }) as unknown as ImportPreview;

describe('a change at one of many waiting files', () => {
  it('reaches files with the same columns, or that cannot be read for the same reason', () => {
    expect(sameShape(preview(['a', 'b']), preview(['a', 'b']))).toBe(true);
    expect(sameShape(preview(['a', 'b']), preview(['a', 'c']))).toBe(false);
    expect(sameShape(preview([], 'wrong-encoding'), preview([], 'wrong-encoding'))).toBe(true);
    expect(sameShape(preview([], 'wrong-encoding'), preview([], 'binary-content'))).toBe(false);
    expect(sameShape(preview([]), preview([]))).toBe(false);
    expect(sameShape(null, preview(['a']))).toBe(false);
  });

  it('shares how they are read, and never the serial, temperature or start of one of them', () => {
    const after = { encoding: 'windows-1252', cell: 'A1', temperatureC: 25, startSoc: 0.9 } as const;
    const other = { options: { cell: 'B2' }, preview: preview(['a']) };
    expect(withReading(other, {}, after)).toEqual({ cell: 'B2', encoding: 'windows-1252' });
  });

  it('shares the sign of the current only with files whose voltage contradicts it too', () => {
    const turned = { currentSign: 'discharge-positive' } as const;
    const file = (verdict: 'agrees' | 'reversed' | 'undecided') => ({
      options: {},
      preview: {
        ...preview(['a']),
        signCheck: { verdict, steps: 9, against: verdict === 'reversed' ? 9 : 0 },
      },
    });
    expect(withReading(file('agrees'), {}, turned)).toEqual({});
    expect(withReading(file('undecided'), {}, turned)).toEqual({});
    expect(withReading(file('reversed'), {}, turned)).toEqual(turned);
  });

  it('leaves alone what a file says for itself, and takes back what was shared', () => {
    expect(withChange({ startSoc: 0.5 }, { startSoc: 0.8 }, { startSoc: 0.9 })).toEqual({ startSoc: 0.5 });
    expect(withChange({ startSoc: 0.8, cell: 'A' }, { startSoc: 0.8 }, {})).toEqual({ cell: 'A' });
    const same = { cell: 'A' };
    expect(withChange(same, {}, {})).toBe(same);
  });
});
