import { describe, expect, it } from 'vitest';
import { readRuns } from '../../server/import/readRecordFile.ts';
import { RefusedFile } from '../../server/import/refusedFile.ts';
import { endlessSource, runFuzz } from './fuzz/runFuzz.ts';

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
