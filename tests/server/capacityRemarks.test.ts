import request from 'supertest';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { RecordColumns } from '../../fitting/records/record.ts';
import { evaluateCapacityRecord } from '../../server/assess/capacity/evaluateCapacityRecord.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
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
  afterAll(async () => test.close());

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

describe('the open-circuit curve of a capacity test', () => {
  /** C/20 of 2 Ah for some hours, a row a minute, linear from 4.1 V at full to 2.9 V at empty. */
  function slowRecord(hours: number): RecordColumns {
    const rows = 60 * (hours + 2);
    const timeS = Float64Array.from({ length: rows }, (_, i) => 60 * i);
    const movedH = timeS.map((time) => Math.min(hours, Math.max(0, time / 3600 - 1)));
    const currentA = movedH.map((moved) => (moved > 0 && moved < hours ? -0.1 : 0));
    const voltageV = movedH.map((moved) => 4.1 - 1.2 * (moved / 20));
    return { timeS, voltageV, currentA };
  }
  const slowDischarge = (hours: number) =>
    evaluateCapacityRecord(slowRecord(hours), {
      cutoffVoltageV: 2.95,
      definition: 'interpolated-crossing',
      ratedCapacityAh: 2,
    });

  it('is there where the discharge went to the cut-off, or moved 95 % of the rated capacity', () => {
    const whole = slowDischarge(20);
    expect([whole.runs[0].reason, whole.openCircuit?.source]).toEqual([null, 'slow-discharge']);
    const almost = slowDischarge(19.1);
    expect(almost.runs[0].reason).toBe('did-not-reach-cutoff');
    expect(almost.openCircuit?.source).toBe('slow-discharge');
  });

  it('is not made of a discharge that was stopped with a sixth of the charge left, as if that were empty', () => {
    const stopped = slowDischarge(17);
    expect(stopped.runs[0].reason).toBe('did-not-reach-cutoff');
    expect(stopped.openCircuit).toBeNull();
  });

  it('is not made of it where the record is one of pulses either', () => {
    const settings = { ratedCapacityAh: 2, startSoc: 1, minVoltageV: 2.95 };
    expect(evaluatePulseRecord(slowRecord(20), settings).openCircuit?.source).toBe('slow-discharge');
    expect(evaluatePulseRecord(slowRecord(17), settings).openCircuit).toBeNull();
    // Without a limit only the amount can say that it ended empty.
    const unlimited = { ratedCapacityAh: 2, startSoc: 1 };
    expect(evaluatePulseRecord(slowRecord(17), unlimited).openCircuit).toBeNull();
    expect(evaluatePulseRecord(slowRecord(20), unlimited).openCircuit?.source).toBe('slow-discharge');
  });

  it('is made of a charge alone only where that moved nearly the rated capacity', () => {
    const slowCharge = (hours: number) => {
      const { timeS, voltageV, currentA } = slowRecord(hours);
      const rising = { timeS, voltageV: voltageV.map((v) => 7 - v), currentA: currentA.map((a) => -a) };
      return evaluateCapacityRecord(rising, {
        cutoffVoltageV: 2.5,
        definition: 'interpolated-crossing',
        ratedCapacityAh: 2,
      }).openCircuit;
    };
    expect(slowCharge(19.5)?.source).toBe('slow-charge');
    expect(slowCharge(17)).toBeNull();
  });

  it('is that of the discharge alone where the charge that follows stopped short', () => {
    const both = (chargeHours: number): RecordColumns => {
      const down = slowRecord(20);
      const up = slowRecord(chargeHours);
      const offsetS = down.timeS[down.timeS.length - 1] + 60;
      const join = (a: Float64Array, b: Float64Array) => Float64Array.from([...a, ...b]);
      return {
        timeS: join(
          down.timeS,
          up.timeS.map((time) => time + offsetS),
        ),
        voltageV: join(
          down.voltageV,
          up.voltageV.map((v) => 7 - v),
        ),
        currentA: join(
          down.currentA,
          up.currentA.map((a) => -a),
        ),
      };
    };
    const evaluate = (chargeHours: number) =>
      evaluatePulseRecord(both(chargeHours), { ratedCapacityAh: 2, startSoc: 1, minVoltageV: 2.95 });
    expect(evaluate(19.5).openCircuit?.source).toBe('slow-average');
    const short = evaluate(16.4);
    expect(short.openCircuit?.source).toBe('slow-discharge');
    expect(short.warnings.map(({ code }) => code)).toContain('charge-does-not-balance');
  });
});
