import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CapacityResult } from '../../server/contract/capacity.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { makeLot } from '../support/basics.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

/** Rows of a discharge of an hour at 2 A, a row every 10 s, after ten minutes of rest; `without` leaves rows out. */
function discharge(without: (second: number) => boolean): string {
  const rows = ['time_s,voltage_V,current_A'];
  for (let second = 0; second <= 4800; second += 10) {
    if (without(second)) continue;
    const loaded = second >= 600 && second < 4200;
    const done = Math.min(1, Math.max(0, (second - 600) / 3600));
    rows.push(`${second},${(4.1 - 1.7 * done - (loaded ? 0.05 : 0)).toFixed(4)},${loaded ? -2 : 0}`);
  }
  return `${rows.join('\n')}\n`;
}

describe('the evaluation of a capacity test', () => {
  let test: TestApp;
  let lot: string;
  beforeAll(async () => {
    test = await openTestApp();
    lot = (await makeLot(test.context)).lot.name;
  });
  afterAll(() => test.close());

  async function evaluate(cell: string, text: string): Promise<CapacityResult> {
    const bytes = Buffer.from(text);
    const file = { name: `${cell}.csv`, open: async () => bufferSource(bytes), rereadable: true };
    const report = await importFile(test.context, file, { lot, cell, testKind: 'capacity' }, 'b');
    const answer = await request(test.app)
      .post(`/api/v1/tests/${report.runs[0].testId}/evaluate`)
      .send({ cutoffVoltageV: 2.5 });
    expect(answer.status, answer.text).toBe(200);
    return answer.body.evaluation.result;
  }
  const codes = ({ warnings }: CapacityResult) => warnings.map(({ code }) => code);

  it('says nothing of a record without gaps, nor of sparse rows at rest', async () => {
    expect(
      codes(
        await evaluate(
          'whole',
          discharge(() => false),
        ),
      ),
    ).toEqual([]);
    expect(
      codes(
        await evaluate(
          'rest',
          discharge((second) => second > 30 && second < 500),
        ),
      ),
    ).toEqual([]);
  });

  it('tells of a gap under load, across which the current is taken to run straight, with its row', async () => {
    const result = await evaluate(
      'gap',
      discharge((second) => second > 1000 && second < 1500),
    );
    // Rows 0 to 100 stand before the gap: a row every 10 s from 0 to 1000 s.
    expect(result.warnings).toEqual([{ code: 'gap-in-record', runs: [0], rows: [101] }]);
    expect(result.runs[0].chargeToEndAh).toBeCloseTo(2, 2);
  });
});
