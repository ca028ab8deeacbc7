import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { fileKind } from '../../server/contract/readingOptions.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/** Tables and records, most of them without a column that one of the kinds needs. */
const files: Readonly<Record<string, string>> = {
  cells: 'serial,capacity (Ah),mass (g)\nA1,2.5,40\nA2,2.4,41\n',
  'cells without a serial': 'Nummer,foo\n1,2\n2,3\n',
  'cells without a value': 'serial,foo\nA1,2\nA2,3\n',
  'cycles without a cycle': 'cell_id,turn,capacity_ah\nA1,1,2.5\nA1,2,2.4\n',
  'cycles without a cell': 'cycle,capacity_ah\n1,2.5\n2,2.4\n',
  'cycles without a value': 'cycle,foo\n1,2.5\n2,2.4\n',
  'a record': 'Test time (s),Voltage (V),Current (A)\n0,3.7,0\n1,3.7,0\n2,3.7,-1\n3,3.6,-1\n',
  'a time alone': 'time (s),foo\n0,1\n1,2\n',
  steps: 'step,capacity_ah\n1,2.5\n',
  frequencies: 'frequency (Hz),foo\n1000,2\n100,3\n',
  'a header alone': 'a,b\n',
  'a serial with a mark that turns the writing': 'serial,capacity (Ah)\nA\u202e1,2.5\n',
};

describe('a file read as a kind that it may not be', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
    await makeLot(test.context, { lot: 'L' });
  });
  afterAll(async () => test.close());

  it.each([
    ['of 130 letters', 'x'.repeat(130)],
    ['with a mark that turns the writing', 'A\u202e1'],
    ['with a mark that cannot be seen', 'A\u200b1'],
  ])('is refused for a serial %s, which would make two cells look like one', async (_, serial) => {
    const bytes = Buffer.from(`serial,capacity (Ah)\n${serial},2.5\n`);
    const file = { name: 'odd.csv', open: async () => bufferSource(bytes), rereadable: true };
    const { state, refusal } = await importFile(test.context, file, { lot: 'L' }, 'b');
    expect(state).toBe('refused');
    expect(refusal?.code).toBe('wrong-serial');
    expect(refusal?.value?.startsWith(serial.slice(0, 40))).toBe(true);
  });

  it.each(Object.entries(files))(
    '%s: its preview refuses what its import refuses, in the same words',
    async (name, text) => {
      const bytes = Buffer.from(text);
      for (const kind of fileKind.options) {
        const options = { lot: 'L', kind, cell: 'S-1', temperatureC: 25, again: true };
        const fileName = `${name} ${kind}.csv`;
        const file = { name: fileName, open: async () => bufferSource(bytes), rereadable: true };
        const shown = await previewImport(test.context, fileName, bytes, true, options);
        const report = await importFile(test.context, file, options, 'b');
        expect({ kind, refusal: shown.refusal }).toEqual({ kind, refusal: report.refusal });
        // What is ready becomes something.
        if (shown.refusal === null)
          expect(
            shown.creates.tests + shown.creates.measurements + shown.creates.cells.length,
          ).toBeGreaterThan(0);
      }
    },
  );
});
