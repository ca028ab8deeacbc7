import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { startInPreamble } from '../../server/import/startInPreamble.ts';
import { findTest } from '../../server/store/tests.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

describe('the instant at which a record began', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await openTestApp();
    await makeLot(test.context.store, 'L-1');
  });
  afterAll(async () => test.close());

  it('is kept with the test where a line above the header states it', async () => {
    const rows = Array.from({ length: 20 }, (_, i) => `${i},3.7,${i < 5 ? 0 : -1}`).join('\n');
    const text = `bench 4\nstarted 2026-01-13 08:30:00 +01:00\ntime_s,voltage_V,current_A\n${rows}\n`;
    const file = { name: 'a.csv', open: async () => bufferSource(Buffer.from(text)), rereadable: true };
    const report = await importFile(test.context, file, { lot: 'L-1', cell: 'A', testKind: 'pulse' }, 'b');
    expect(report.state).toBe('taken');
    const id = report.runs[0].testId;
    if (id === null) throw new Error('no test was made');
    expect((await findTest(test.context.store, id))?.startedAt).toBe('2026-01-13T07:30:00.000Z');
  });

  it.each([
    [['Start time: 2026-01-13T08:30:05Z'], '2026-01-13T08:30:05.000Z'],
    [['Date; 2026/01/13 08:30'], '2026-01-13T08:30:00.000Z'],
    [['Begin 2026-01-13 08:30:00-0500', 'End 2026-01-13 20:00:00'], '2026-01-13T13:30:00.000Z'],
    // Two that differ, a date that could be day or month first, no such day, no word that says what the instant is.
    [['Start 2026-01-13 08:30:00', 'Time 2026-01-14 08:30:00'], null],
    [['Start 03/04/2026 08:30:00'], null],
    [['Start 2026-02-30 08:30:00'], null],
    [['Start 2026-01-13 25:30:00'], null],
    [['calibrated 2026-01-13 08:30:00'], null],
    [['Calibration date: 2025-03-01 09:00'], null],
    [['Due date: 2027-03-01 09:00', 'Export time: 2026-02-01 10:00:00'], null],
    [['File created, date and time: 2026-02-01 10:00:00'], null],
    [['Calibration date: 2025-03-01 09:00', 'Start time: 2026-01-13T08:30:05Z'], '2026-01-13T08:30:05.000Z'],
    [['Production test, started 2026-01-13 08:30:00'], '2026-01-13T08:30:00.000Z'],
    [['Start 2026-01-13 08:30:00.250'], '2026-01-13T08:30:00.250Z'],
    [['Start: 08:00'], null],
    [[], null],
  ])('of %j is %s', (preamble, start) => {
    expect(startInPreamble(preamble)).toBe(start);
  });
});
