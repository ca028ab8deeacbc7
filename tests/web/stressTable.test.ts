import { describe, expect, it } from 'vitest';
import { ageingSettings } from '../../server/contract/ageingAssessment.ts';
import { readStressTable } from '../../web/src/pages/ageing/stressTable.ts';

const ids = new Map([
  ['A1', 11],
  ['A2', 12],
]);

describe('a pasted table of conditions', () => {
  it('becomes terms with units and the values of each cell, as the service takes them', () => {
    for (const separator of ['\t', ';', ',']) {
      const text = [
        ['cell', 'Temperature (°C)', 'Charge rate (C)'],
        ['A1', '25', '1'],
        ['A2', '45', '1.5'],
      ]
        .map((row) => row.join(separator))
        .join('\n');
      const { settings, problems } = readStressTable(text, ids);
      expect(problems).toEqual([]);
      expect(settings).toEqual({
        terms: [
          { name: 'Temperature', unit: '°C' },
          { name: 'Charge rate', unit: 'C' },
        ],
        cells: [
          { cellId: 11, values: [25, 1] },
          { cellId: 12, values: [45, 1.5] },
        ],
      });
      expect(ageingSettings.parse({ stress: settings }).stress).toEqual(settings);
    }
  });

  it('is refused with the row and what is wrong in it', () => {
    const wrong = (text: string) => {
      const { settings, problems } = readStressTable(text, ids);
      expect(settings).toBeNull();
      return problems;
    };
    expect(wrong('cell;Temperature\nA1;warm')).toEqual(['Row 2, Temperature: “warm” is not a number.']);
    expect(wrong('cell;Temperature\nA1;25;3')).toEqual(['Row 2: 2 values where the first row names 1.']);
    expect(wrong('cell;Temperature\nA1;25\nZ9;30')).toEqual(['Row 3: no cell “Z9” in this lot.']);
    expect(wrong('cell;Temperature\nA1;25\nA1;30')).toEqual(['A cell stands in more than one row.']);
    expect(wrong('cell\nA1')).toHaveLength(1);
  });

  it('is nothing while nothing is typed', () => {
    expect(readStressTable(' \n', ids)).toEqual({ settings: null, problems: [] });
  });
});
