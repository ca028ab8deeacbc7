import { describe, expect, it } from 'vitest';
import { usableChargeCounter } from '../../../fitting/records/chargeCounter.ts';
import { findRecordIssue, recordStretches } from '../../../fitting/records/record.ts';
import { socTrace } from '../../../fitting/records/socTrace.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import { recordOf } from './recordOf.ts';

const plain = (timeS: number[]) => ({
  timeS: Float64Array.from(timeS),
  voltageV: new Float64Array(timeS.length).fill(3.7),
  currentA: new Float64Array(timeS.length),
});

describe('findRecordIssue(record)', () => {
  it('takes two rows with one time stamp', () => {
    expect(findRecordIssue(plain([0, 1, 1, 2]))).toBeNull();
  });

  it('names the first value that is not finite', () => {
    const record = plain([0, 1, 2]);
    record.voltageV[2] = Number.NaN;
    expect(findRecordIssue(record)).toMatchObject({ code: 'not-finite', column: 'voltageV', index: 2 });
  });

  it('names the column of another length', () => {
    const record = { ...plain([0, 1, 2]), temperatureC: new Float64Array(2) };
    expect(findRecordIssue(record)).toMatchObject({ code: 'length', column: 'temperatureC', index: 2 });
  });

  it('refuses an empty record', () => {
    expect(findRecordIssue(plain([]))).toMatchObject({ code: 'empty' });
  });

  it('refuses time that runs backwards in the middle', () => {
    expect(findRecordIssue(plain([0, 10, 20, 15]))).toMatchObject({ code: 'time-backwards', index: 3 });
    expect(() => recordStretches(plain([0, 10, 20, 15]))).toThrow(/timeS\[3\] = 15/);
  });

  it('opens another stretch where the clock starts again', () => {
    expect(recordStretches(plain([5, 10, 20, 5, 10]))).toEqual([
      { start: 0, end: 3 },
      { start: 3, end: 5 },
    ]);
  });
});

describe('socTrace(record, steps, startSoc, capacityAh)', () => {
  const record = recordOf([
    { seconds: 600, currentA: 0, intervalS: 10 },
    { seconds: 1800, currentA: -2, intervalS: 1 },
    { seconds: 600, currentA: 0, intervalS: 10 },
  ]);

  it('counts the charge from the start', () => {
    const { steps } = findSteps(record);
    const trace = socTrace(record, steps, 0.9, 2);
    expect(trace.socAt(0)).toBe(0.9);
    expect(trace.socAt(record.timeS.length - 1)).toBeCloseTo(0.4, 2);
  });

  it('says what is missing', () => {
    const { steps } = findSteps(record);
    expect(socTrace(record, steps, null, 2).reasonAt(3)).toBe('start-soc-unknown');
    expect(socTrace(record, steps, 0.5, null).reasonAt(3)).toBe('capacity-unknown');
    expect(() => socTrace(record, steps, 1.5, 2)).toThrow(/between 0 and 1/);
    expect(() => socTrace(record, steps, 0.5, 0)).toThrow(/above 0/);
  });

  it('loses the SOC behind a gap in which the voltage moved, unless a counter bridges it', () => {
    const moved = recordOf([
      { seconds: 600, currentA: 0, intervalS: 10 },
      { seconds: 600, currentA: 0, intervalS: 10, gapBeforeS: 3000, ocvV: 3.6 },
    ]);
    const { steps } = findSteps(moved);
    const last = moved.timeS.length - 1;
    expect(socTrace(moved, steps, 0.5, 2).reasonAt(last)).toBe('gap-in-record');
    const chargeAh = moved.timeS.map((_, i) => (i >= steps[1].start ? -0.5 : 0));
    expect(socTrace({ ...moved, chargeAh }, steps, 0.5, 2).socAt(last)).toBeCloseTo(0.25, 12);
  });
});

describe('usableChargeCounter(record, counter)', () => {
  const record = recordOf([
    { seconds: 100, currentA: 0, intervalS: 1 },
    { seconds: 600, currentA: -2, intervalS: 1 },
  ]);
  const counter = Float64Array.from(record.timeS, (t) => (-2 * Math.max(0, t - 99)) / 3600);

  it('takes a signed counter, and turns one round that counts discharge as positive', () => {
    expect(usableChargeCounter(record, counter)).toBe(counter);
    const turned = usableChargeCounter(
      record,
      counter.map((value) => -value),
    );
    expect(turned?.[400]).toBeCloseTo(counter[400], 12);
  });

  it('refuses what does not follow the current', () => {
    expect(usableChargeCounter(record, new Float64Array(record.timeS.length))).toBeNull();
    expect(
      usableChargeCounter(
        record,
        counter.map((value) => 3 * value),
      ),
    ).toBeNull();
  });
});
