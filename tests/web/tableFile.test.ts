import { describe, expect, it } from 'vitest';
import { isWithin, rangeOfText, rangeText } from '../../web/src/tables/numberRange.ts';
import { clipboardText, csvOf } from '../../web/src/tables/tableFile.ts';

describe('a table that is handed on', () => {
  const rows = [
    ['Cell', 'Capacity, Ah'],
    ['A "1", left', 2.5],
    ['A\t2', null],
  ];

  it('is CSV after RFC 4180, with nothing where a value is missing', () => {
    expect(csvOf(rows)).toBe('Cell,"Capacity, Ah"\r\n"A ""1"", left",2.5\r\nA\t2,\r\n');
  });

  it('keeps its columns apart by tabs in the clipboard', () => {
    expect(clipboardText(rows)).toBe('Cell\tCapacity, Ah\nA "1", left\t2.5\nA 2\t');
  });
});

describe('a filter by number', () => {
  it.each([
    { column: 'capacity//25C', min: 2.1, max: 2.3 },
    { column: 'r@10s', min: null, max: -4 },
    { column: 'r', min: 1e-7, max: null },
  ])('comes back from the address as $column from $min to $max', (range) => {
    expect(rangeOfText(rangeText(range))).toEqual(range);
  });

  it('keeps the bounds themselves and leaves out what is not a number', () => {
    const range = { column: 'r', min: 1, max: 2 };
    expect([0.9, 1, 2, 2.1, undefined, '1.5'].map((v) => isWithin(v, range))).toEqual([
      false,
      true,
      true,
      false,
      false,
      false,
    ]);
  });
});
