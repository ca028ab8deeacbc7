import { describe, expect, it } from 'vitest';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readRuns } from '../../server/import/readRecordFile.ts';
import { RefusedFile } from '../../server/import/refusedFile.ts';
import { findRecord, readRecord } from '../../server/store/records.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import { openTestApp } from '../support/testApp.ts';
import { mutatedFile } from './fuzz/mutateFile.ts';
import { endlessSource, runFuzz } from './fuzz/runFuzz.ts';
import { makeLot } from './importLot.ts';

describe('the reader of files', () => {
  it('takes or refuses by name each of 10,000 mutated files, without crash, hang or growing memory', async () => {
    const before = process.memoryUsage.rss() / 1048576;
    const summary = await runFuzz(0, 10_000);
    expect(summary.files).toBe(10_000);
    // Both ends must be exercised: files that survive their mutation, and many kinds of refusal.
    expect(summary.taken).toBeGreaterThan(500);
    expect(Object.keys(summary.refused).length).toBeGreaterThan(12);
    expect(summary.slowestMs).toBeLessThan(5000);
    expect(summary.peakMb - before).toBeLessThan(300);
  }, 120_000);

  it('refuses a number of a billion digits, a header without end and blank lines without end at the first block', async () => {
    const head = 'time_s,voltage_V,current_A\n0,3.7,0\n1,';
    const billion = 1_000_000_000;
    for (const source of [endlessSource(head, 55, billion), endlessSource('time_s,', 97, billion)]) {
      await expect(readRuns(source)).rejects.toMatchObject({ refusal: { code: 'line-too-long' } });
    }
    await expect(readRuns(endlessSource('', 10, billion))).rejects.toBeInstanceOf(RefusedFile);
  });
});

describe('the import of mutated files', () => {
  it('takes each whole or not at all, and leaves a report of every one', async () => {
    const test = await openTestApp();
    const { store } = test.context;
    await makeLot(store, 'L-1');
    let taken = 0;
    for (let n = 0; n < 300; n++) {
      const bytes = mutatedFile(2_000_000 + n);
      const file = { name: `f${n}.csv`, open: async () => bufferSource(bytes), rereadable: true };
      const report = await importFile(test.context, file, { lot: 'L-1', cell: 'X' }, 'fuzz');
      expect(report.refusal === null).toBe(report.state === 'taken');
      if (report.state === 'taken') taken++;
    }
    expect(taken).toBeGreaterThan(10);
    const counts = await selectOne(
      store,
      `SELECT (SELECT COUNT(*) FROM SourceFile) AS files, (SELECT COUNT(*) FROM SourceFile WHERE state = 'taken') AS taken,
         (SELECT COUNT(*) FROM Record WHERE state <> 'sealed' OR testId IS NULL) AS unfinished,
         (SELECT COUNT(*) FROM RecordChunk WHERE recordId NOT IN (SELECT id FROM Record)) AS orphans`,
    );
    expect(counts).toEqual({ files: 300, taken, unfinished: 0, orphans: 0 });
    for (const { id } of await selectAll<{ id: number }>(store, 'SELECT testId AS id FROM Record')) {
      const record = (await findRecord(store, id))!;
      expect((await readRecord(store, record)).timeS.length).toBe(record.rowCount);
    }
    await test.close();
  }, 60_000);
});
