import { describe, expect, it } from 'vitest';
import { chargePhases } from '../../../fitting/capacity/chargePhases.ts';
import { chargeTimes } from '../../../fitting/capacity/chargeTimes.ts';
import { cycleEfficiencies } from '../../../fitting/capacity/cycleEfficiency.ts';
import { findRuns } from '../../../fitting/capacity/findRuns.ts';
import { dischargeCapacity } from '../../../fitting/capacity/runCapacity.ts';
import type { RecordColumns } from '../../../fitting/records/record.ts';

/** Rows of [time, voltage, current]. */
const record = (rows: number[][]): RecordColumns => ({
  timeS: Float64Array.from(rows, (row) => row[0]),
  voltageV: Float64Array.from(rows, (row) => row[1]),
  currentA: Float64Array.from(rows, (row) => row[2]),
});

/** 1 A for an hour and more, voltage falling by 1 V/h from 4 V, sampled each 600 s. */
const straightDischarge = (lastS: number): RecordColumns => {
  const rows = [[0, 4, 0]];
  for (let t = 0; t <= lastS; t += 600) rows.push([t, 4 - t / 3600, -1]);
  return record(rows);
};

describe('dischargeCapacity', () => {
  it('interpolates the crossing between two samples', () => {
    const columns = straightDischarge(5400);
    const [run] = findRuns(columns);
    const result = dischargeCapacity(columns, run, 2.75);
    expect(result.crossingTimeS).toBeCloseTo(4500, 9);
    expect(result.capacityAh).toBeCloseTo(1.25, 12);
    // ∫ (4 − t) dt from 0 to 1.25 h; the trapezoid rule is exact on a straight line.
    expect(result.energyWh).toBeCloseTo(4 * 1.25 - 1.25 ** 2 / 2, 12);
    expect(result.reachedCutoff).toBe(true);
  });

  it('takes the whole interval of the first sample below where that definition is asked for', () => {
    const columns = straightDischarge(5400);
    const [run] = findRuns(columns);
    const result = dischargeCapacity(columns, run, 2.75, 'first-sample-below');
    expect(result.capacityAh).toBeCloseTo(4800 / 3600, 12);
  });

  it('gives a reason and no number where the cut-off was not reached', () => {
    const columns = straightDischarge(3000);
    const [run] = findRuns(columns);
    const result = dischargeCapacity(columns, run, 2.75);
    expect(result.capacityAh).toBeNull();
    expect(result.energyWh).toBeNull();
    expect(result.reason).toBe('did-not-reach-cutoff');
    expect(result.reachedCutoff).toBe(false);
    expect(result.chargeToEndAh).toBeCloseTo(3000 / 3600, 12);
  });

  it('gives a reason where no cut-off was stated', () => {
    const columns = straightDischarge(3000);
    const [run] = findRuns(columns);
    expect(dischargeCapacity(columns, run, null).reason).toBe('no-cutoff-stated');
    expect(dischargeCapacity(columns, run, null, 'whole-record').capacityAh).toBeCloseTo(3000 / 3600, 12);
  });

  it('refuses a cut-off that is not a positive voltage', () => {
    const columns = straightDischarge(3000);
    const [run] = findRuns(columns);
    expect(() => dischargeCapacity(columns, run, -1)).toThrow(
      /cutoffVoltageV must be a positive number of volts, got -1/,
    );
  });
});

describe('findRuns', () => {
  it('takes a pulsed discharge with rests for one run', () => {
    const rows: number[][] = [];
    for (let k = 0; k < 10; k++)
      rows.push([k * 100, 3.9, 0], [k * 100 + 1, 3.8, -2], [k * 100 + 50, 3.7, -2], [k * 100 + 51, 3.8, 0]);
    const runs = findRuns(record(rows));
    expect(runs).toHaveLength(1);
    expect(runs[0].direction).toBe('discharge');
  });

  it('does not let a single sample of opposite current split a charge', () => {
    const rows = [
      [0, 3.3, 0],
      [2.5, 3, -3.3],
    ];
    for (let t = 5; t <= 3600; t += 5) rows.push([t, 3.5 + t / 7200, 1.5]);
    const runs = findRuns(record(rows));
    expect(runs.map((run) => run.direction)).toEqual(['charge']);
    expect(runs[0].oppositeRows).toEqual([1]);
    expect(runs[0].firstLoadedRow).toBe(2);
  });

  it('keeps charge and discharge of one record apart and splits where the clock restarts', () => {
    const charge: number[][] = [];
    for (let t = 0; t <= 3600; t += 60) charge.push([t, 3.5 + t / 7200, 1]);
    const discharge = charge.map(([t, v]) => [t + 3700, 7.5 - v, -1]);
    const again = charge.map(([t, v, i]) => [t, v, i]);
    const runs = findRuns(record([...charge, ...discharge, ...again]));
    expect(runs.map((run) => run.direction)).toEqual(['charge', 'discharge', 'charge']);
  });

  it('finds nothing in a rest', () => {
    expect(
      findRuns(
        record([
          [0, 4, 0],
          [10, 4, 0],
          [20, 4, 0],
        ]),
      ),
    ).toEqual([]);
  });
});

/** Resistor and linear open-circuit voltage charged by constant current, then constant voltage: a closed form. */
function closedFormCharge(): RecordColumns {
  const rows: number[][] = [];
  const tauS = 562.5;
  for (let t = 0; t <= 2677.5; t += 2.5) rows.push([t, 4.2 - ((2677.5 - t) / 2677.5) * 0.595, 2.5]);
  for (let t = 2.5; t <= 1685; t += 2.5) rows.push([2677.5 + t, 4.2, 2.5 * Math.exp(-t / tauS)]);
  return record(rows);
}

describe('chargePhases and chargeTimes', () => {
  it('split the exactly solvable charge of a resistor with a linear open-circuit voltage where the voltage is held', () => {
    // Derived, exact solution of a cell with R and a straight OCV: 2677.5 s at 2.5 A, then τ = 562.5 s down to 0.125 A: 0.37109375 Ah in the held part.
    const columns = closedFormCharge();
    const [run] = findRuns(columns);
    const phases = chargePhases(columns, run);
    expect(phases.constantCurrentS).toBeGreaterThan(2677.5 - 60);
    expect(phases.constantCurrentS).toBeLessThanOrEqual(2677.5 + 15);
    expect(phases.constantVoltageAh + phases.constantCurrentAh).toBeCloseTo(1.859375 + 0.37109375, 3);
    expect(Math.abs(phases.constantVoltageAh - 0.37109375)).toBeLessThan(0.01);
    expect(phases.constantCurrentShare + phases.constantVoltageShare).toBeCloseTo(1, 12);
    expect(phases.holdVoltageV).toBeCloseTo(4.2, 9);
  });

  it('give the times at which shares of the charge were reached', () => {
    const columns = closedFormCharge();
    const [run] = findRuns(columns);
    const total = 1.859375 + 0.37109375;
    const [half, eighty, full] = chargeTimes(columns, run);
    expect(half.timeS).toBeCloseTo(((0.5 * total) / 2.5) * 3600, 0);
    expect(eighty.timeS).toBeCloseTo(((0.8 * total) / 2.5) * 3600, 0);
    expect(full.timeS).toBeCloseTo(2677.5 + 1685, 6);
  });

  it('say that a state of charge was not reached', () => {
    const columns = closedFormCharge();
    const [run] = findRuns(columns);
    expect(chargeTimes(columns, run, 2.5)[2]).toEqual({
      soc: 1,
      timeS: null,
      reason: 'did-not-reach-cutoff',
    });
    expect(() => chargeTimes(columns, run, 2.5, 0, [1.2])).toThrow(/soc must be between 0 and 1, got 1.2/);
  });

  it('report no held part for a charge that ends at its limit', () => {
    const rows: number[][] = [];
    for (let t = 0; t <= 3600; t += 10) rows.push([t, 3.5 + t / 7200, 1]);
    const columns = record(rows);
    const phases = chargePhases(columns, findRuns(columns)[0]);
    expect(phases.constantVoltageAh).toBe(0);
    expect(phases.holdVoltageV).toBeNull();
  });
});

describe('cycleEfficiencies', () => {
  it('are none where more charge came out than went in: the charge did not begin empty', () => {
    const cycle = (outAh: number) =>
      cycleEfficiencies([
        { direction: 'charge', chargeAh: 2, energyWh: 7.8 },
        { direction: 'discharge', chargeAh: outAh, energyWh: 7.4 },
      ]);
    expect(cycle(2.06)).toEqual([
      {
        chargeRun: 0,
        dischargeRun: 1,
        coulombicEfficiency: null,
        energyEfficiency: null,
        reason: 'charge-not-from-empty',
      },
    ]);
    expect(cycle(2.02)[0]).toMatchObject({ coulombicEfficiency: 1.01, reason: null });
  });

  it('pairs a charge with the discharge after it and gives reasons for the rest', () => {
    const cycles = cycleEfficiencies([
      { direction: 'discharge', chargeAh: 1, energyWh: 3.6 },
      { direction: 'charge', chargeAh: 2, energyWh: 8 },
      { direction: 'discharge', chargeAh: 1.98, energyWh: 7.2 },
      { direction: 'charge', chargeAh: 2, energyWh: 8 },
    ]);
    expect(cycles.map((cycle) => cycle.reason)).toEqual([
      'no-matching-charge',
      null,
      'no-matching-discharge',
    ]);
    expect(cycles[1].coulombicEfficiency).toBeCloseTo(0.99, 12);
    expect(cycles[1].energyEfficiency).toBeCloseTo(0.9, 12);
  });
});
