import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { compileNamePattern } from '../../server/import/namePattern.ts';
import { evaluateTest } from '../../server/use-cases/evaluation/evaluateTest.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { type Part, recordOf } from '../fitting/records/recordOf.ts';
import { makeLot } from '../support/basics.ts';
import { selectAll } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';

const rest = (ocvV: number, seconds = 400): Part => ({ seconds, currentA: 0, intervalS: 1, ocvV });
const pulse = (ocvV: number): Part => ({ seconds: 10, currentA: -2, intervalS: 0.1, ocvV });
/** Half an hour at C/2 of 2 Ah: a quarter of the capacity. */
const step = (ocvV: number, sign: number): Part => ({ seconds: 1800, currentA: sign, intervalS: 2, ocvV });
const limits = { ratedCapacityAh: 2, minVoltageV: 2.5, maxVoltageV: 4.2, maxBranches: 0 };

describe('the start SOC of a pulse record', () => {
  it('is 1 where the record begins at rest at the upper limit, and the derivation is told', () => {
    const record = recordOf([
      rest(4.19),
      pulse(4.19),
      rest(4.19),
      step(4, -1),
      rest(3.9),
      pulse(3.9),
      rest(3.9),
    ]);
    const result = evaluatePulseRecord(record, limits);
    expect(result.record).toMatchObject({ startSoc: 1, startSocBasis: 'begins-full' });
    expect(result.settings.startSoc).toBeNull();
    expect(result.warnings.map((warning) => warning.code)).toContain('start-soc-derived');
    expect(result.pulses[0].socBefore).toBeCloseTo(1, 6);
    expect(result.pulses[1].socBefore).toBeCloseTo(1 - 20 / 7200 - 0.25, 3);
  });

  it('is counted back from where a charge is held at the upper limit until its current is small', () => {
    const taper: Part = { seconds: 3000, currentA: 1, intervalS: 2, ocvV: 4.17, taperS: 800 };
    const record = recordOf([
      rest(3.6),
      pulse(3.6),
      rest(3.6),
      step(3.9, 1),
      taper,
      rest(4.17),
      pulse(4.17),
      rest(4.17),
    ]);
    const result = evaluatePulseRecord(record, limits);
    expect(result.record.startSocBasis).toBe('reaches-full');
    const charged = (1800 + 800 * (1 - Math.exp(-3000 / 800)) - 20) / 7200;
    expect(result.record.startSoc).toBeCloseTo(1 - charged, 2);
    expect(result.pulses[1].socBefore).toBeCloseTo(1, 2);
  });

  it('is counted back from where a discharge ends at the lower limit', () => {
    const record = recordOf([rest(3.4), pulse(3.4), rest(3.4), step(2.53, -1), rest(3), pulse(3.1), rest(3)]);
    const result = evaluatePulseRecord(record, limits);
    expect(result.record.startSocBasis).toBe('reaches-empty');
    expect(result.record.startSoc).toBeCloseTo(0.25 + 20 / 7200, 3);
  });

  it('is not derived across a gap, nor where nothing is reached, and what is stated outranks all', () => {
    const parts = [rest(3.6), pulse(3.6), rest(3.6)];
    expect(evaluatePulseRecord(recordOf(parts), limits).record.startSoc).toBeNull();
    const gap = { ...step(2.53, -1), gapBeforeS: 4000 };
    expect(evaluatePulseRecord(recordOf([...parts, gap, rest(3)]), limits).record.startSoc).toBeNull();
    const full = recordOf([rest(4.19), pulse(4.19), rest(4.19)]);
    const stated = evaluatePulseRecord(full, { ...limits, startSoc: 0.9 }).record;
    expect(stated).toMatchObject({ startSoc: 0.9, startSocBasis: 'stated' });
  });

  it('is read from a file name in percent', () => {
    const match = compileNamePattern('{cell}_SOC{soc}_{temperature}C.csv');
    expect(match('A-1_SOC50_25C.csv')).toMatchObject({ cell: 'A-1', startSoc: 0.5, temperatureC: 25 });
    expect(match('A-1_SOC7p5_m10C.csv')).toMatchObject({ startSoc: 0.075, temperatureC: -10 });
  });
});

describe('a stored pulse test', () => {
  let test: TestApp;
  let lot: string;
  beforeAll(async () => {
    test = await openTestApp();
    lot = (await makeLot(test.context)).lot.name;
  });
  afterAll(() => test.close());

  async function counted(
    cell: string,
    options: object,
    socColumn = '',
  ): Promise<{ soc: number | null; excludedReason: string | null }[]> {
    const record = recordOf(
      [rest(3.9), pulse(3.9), rest(3.9), step(3.7, -1), rest(3.6), pulse(3.6), rest(3.6)],
      { noiseV: 1e-5, seed: cell.charCodeAt(2) },
    );
    const rows = [...record.timeS].map(
      (t, i) => `${t},${record.voltageV[i]},${record.currentA[i]}${socColumn && ',80'}`,
    );
    const bytes = Buffer.from([`time_s,voltage_V,current_A${socColumn}`, ...rows, ''].join('\n'));
    const file = { name: `${cell}.csv`, open: async () => bufferSource(bytes), rereadable: true };
    const report = await importFile(test.context, file, { lot, cell, testKind: 'pulse', ...options }, 'b');
    await evaluateTest(test.context, report.runs[0].testId as number);
    return selectAll(
      test.context.store,
      "SELECT soc, excludedReason FROM Measurement WHERE testId = ? AND quantity = 'resistance' AND durationS = 10 AND supersededAt IS NULL ORDER BY id",
      report.runs[0].testId as number,
    );
  }

  it('takes the start SOC of the import, or of a column of its file', async () => {
    const stated = await counted('S-1', { startSoc: 0.8 });
    expect(stated.map(({ soc }) => Math.round(100 * (soc ?? 0)))).toEqual([80, 55]);
    const column = await counted('S-2', {}, ',SOC_%');
    expect(column.map(({ soc }) => Math.round(100 * (soc ?? 0)))).toEqual([80, 55]);
    expect(column.every(({ excludedReason }) => excludedReason === null)).toBe(true);
  });

  it('keeps pulses at several unknown states of charge, but does not put the last of them into a column', async () => {
    const unknown = await counted('S-3', {});
    expect(unknown).toEqual([
      { soc: null, excludedReason: 'soc-unknown' },
      { soc: null, excludedReason: 'soc-unknown' },
    ]);
  });
});
