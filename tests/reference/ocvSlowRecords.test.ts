import { describe, expect, it } from 'vitest';
import { evaluateCapacityRecord } from '../../server/assess/capacity/evaluateCapacityRecord.ts';
import { evaluatePulseRecord } from '../../server/assess/pulse/evaluatePulseRecord.ts';
import { sharedIsMissing } from '../support/required.ts';
import { readShared } from './pulsesRecordFile.ts';

describe.skipIf(sharedIsMissing('datasets'))('slow discharges and charges', () => {
  it('C/20 of the 2.9 Ah cell: a monotone curve, hysteresis, and the 9 mA offset of the current channel', () => {
    const path = 'panasonic-18650pf/c20_discharge_charge_25degC.csv';
    const result = evaluatePulseRecord(readShared(path), { ratedCapacityAh: 2.9, startSoc: 1 });
    const curve = result.openCircuit;
    expect(curve?.source).toBe('slow-average');
    expect(curve?.soc).toHaveLength(101);
    const at = (percent: number) => curve?.ocvV[percent] ?? Number.NaN;
    expect(at(50)).toBeGreaterThan(3.55);
    expect(at(50)).toBeLessThan(3.75);
    expect(curve?.slopeV.every((slope) => slope >= 0)).toBe(true);
    expect(curve?.hysteresisV[50]).toBeGreaterThan(0);
    expect(curve?.hysteresisV[50]).toBeLessThan(0.1);
    const warning = result.warnings.find((one) => one.code === 'charge-does-not-balance');
    expect(warning?.message).toMatch(/2\.99\d Ah out but 2\.6\d+ Ah in/);
    const offset = Number(/of (-?[\d.]+) mA/.exec(warning?.message ?? '')?.[1]);
    expect(Math.abs(offset)).toBeGreaterThan(8);
    expect(Math.abs(offset)).toBeLessThan(11);
  });

  it('C/20 of the 2.9 Ah cell read as a capacity test gives the same curve beside the capacity', () => {
    const record = readShared('panasonic-18650pf/c20_discharge_charge_25degC.csv');
    const asPulses = evaluatePulseRecord(record, { ratedCapacityAh: 2.9, startSoc: 1 });
    const { openCircuit, runs } = evaluateCapacityRecord(record, {
      cutoffVoltageV: 2.5,
      definition: 'interpolated-crossing',
      ratedCapacityAh: 2.9,
    });
    expect(openCircuit).toEqual(asPulses.openCircuit);
    expect(runs.map((run) => run.direction)).toEqual(['discharge', 'charge']);
    const known = { cutoffVoltageV: 2.5, definition: 'interpolated-crossing' } as const;
    expect(evaluateCapacityRecord(record, { ...known, ratedCapacityAh: null }).openCircuit).toBeNull();
    // Against 1.2 Ah the same current is a rate of 0.12 C: no longer slow.
    expect(evaluateCapacityRecord(record, { ...known, ratedCapacityAh: 1.2 }).openCircuit).toBeNull();
  });

  it('C/15 of the 33 Ah cell: the 0.11 Ω of two-wire sensing is found', () => {
    const result = evaluatePulseRecord(readShared('leaf-33ah/c15_cycles_2_3.csv'), { ratedCapacityAh: 33.1 });
    expect(result.record.edgeResistanceOhm).toBeCloseTo(0.11, 2);
    expect(result.warnings.map((one) => one.code)).toContain('series-resistance');
  });

  it('the pulse record of the same cell with four wires raises no such warning', () => {
    const result = evaluatePulseRecord(readShared('leaf-33ah/hppc_25degC.csv'), { ratedCapacityAh: 33.1 });
    expect(result.warnings.map((one) => one.code)).not.toContain('series-resistance');
    expect(result.record.edgeResistanceOhm).toBeLessThan(0.003);
  });
});
