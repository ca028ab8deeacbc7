import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { circuitVoltage } from '../../fitting/circuit/fit/circuitResiduals.ts';
import { circuitValue, type FittedCircuit, fitCircuit } from '../../fitting/circuit/fit/fitCircuit.ts';
import { interpolateTable, tabulate } from '../../fitting/circuit/parameterTable.ts';
import { circuitWindow } from '../../fitting/circuit/window/circuitWindow.ts';
import { chenParameters } from '../fitting/circuit/fit/chenRinconMora.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

function circuitOf(values: Record<string, number>, branches: number, withSlope = false): FittedCircuit {
  return {
    branches,
    withSlope,
    history: 0,
    parameters: Object.entries(values).map(([name, value]) => ({
      name,
      value,
      standardError: null,
      reason: null,
    })),
    covariance: null,
    residualSumOfSquares: 0,
    residualSdV: 0,
    rows: 0,
    termination: 'gradient',
    converged: true,
    evaluations: 0,
    condition: null,
  };
}

describe('Chen and Rincón-Mora 2006, doi:10.1109/TEC.2006.874229', () => {
  it('has the printed parameters at half charge', () => {
    const cell = chenParameters(0.5);
    expect(cell.ocvV).toBeCloseTo(3.803362474, 9);
    expect(cell.r0Ohm).toBeCloseTo(0.0744608, 7);
    expect(cell.r1Ohm).toBeCloseTo(0.0466902, 7);
    expect(cell.r2Ohm).toBeCloseTo(0.04984, 7);
    expect(cell.tau1S).toBeCloseTo(32.81, 2);
    expect(cell.tau2S).toBeCloseTo(223.034, 3);
    expect(chenParameters(1).ocvV).toBeCloseTo(4.1029, 4);
  });

  it('has the printed response to 0.85 A from rest', () => {
    const timeS = Float64Array.of(0, 1, 10, 60, 600);
    const window = circuitWindow({
      timeS,
      currentA: Float64Array.of(0, -0.85, -0.85, -0.85, -0.85),
      voltageV: new Float64Array(5),
      sharpRows: [1],
    });
    const { ocvV, r0Ohm, r1Ohm, tau1S, r2Ohm, tau2S } = chenParameters(0.5);
    const voltage = circuitVoltage(window, circuitOf({ ocvV, r0Ohm, r1Ohm, tau1S, r2Ohm, tau2S }, 2));
    [3.73868994325, 3.72778696782, 3.69676632843, 3.66089536607].forEach((expected, i) => {
      expect(voltage[i + 1]).toBeCloseTo(expected, 10);
    });
  });
});

describe('lumped-parameter regression, DOE/ID-11069 appendix D', () => {
  const timeS = Float64Array.of(0, 1, 2, 5, 10, 11, 20, 30, 50, 51, 55, 60, 61, 80, 100);
  const currentA = Float64Array.of(0, 4, 4, 4, 4, 0, 0, 0, 0, -3, -3, -3, 0, 0, 0).map((value) => -value);
  const truth = { ocvV: 3.8, slopeVPerAs: 8e-5, r0Ohm: 0.03, r1Ohm: 0.02, tau1S: 25 };
  const window = circuitWindow({ timeS, currentA, voltageV: new Float64Array(15) });
  const voltageV = circuitVoltage(window, circuitOf(truth, 1, true));

  it('has the printed voltages on a current that is linear between samples', () => {
    const at = (t: number) => voltageV[timeS.indexOf(t)];
    expect(at(1)).toBeCloseTo(3.678261122, 9);
    expect(at(10)).toBeCloseTo(3.65167256, 9);
    expect(at(11)).toBeCloseTo(3.770946128, 9);
    expect(at(50)).toBeCloseTo(3.791367169, 9);
    expect(at(60)).toBeCloseTo(3.904403844, 9);
    expect(at(100)).toBeCloseTo(3.80253937, 9);
  });

  it('returns the inputs when fitted', () => {
    const circuit = fitCircuit(circuitWindow({ timeS, currentA, voltageV }), {
      branches: 1,
      withSlope: true,
    });
    for (const [name, value] of Object.entries(truth)) {
      expect(circuitValue(circuit, name) / value).toBeCloseTo(1, 6);
    }
  });
});

describe.skipIf(sharedIsMissing('reference/ecm_reference.json'))(
  'Huria et al. 2012, doi:10.1109/IEVC.2012.6183271',
  () => {
    const { huria2012OneRC: table } = JSON.parse(
      readFileSync(sharedPath('reference/ecm_reference.json'), 'utf8'),
    );
    const at = (values: number[][], soc: number, temperatureC: number) =>
      interpolateTable({ soc: table.soc, temperatureC: table.temperature_degC, values }, soc, temperatureC);

    it('is interpolated over SOC and temperature as in the worked example', () => {
      expect(at(table.ocv_V, 0.6, 30).value).toBeCloseTo(3.8029, 4);
      expect(at(table.R0_ohm, 0.6, 30).value).toBeCloseTo(0.00858, 6);
      expect(at(table.R1_ohm, 0.6, 30).value).toBeCloseTo(0.00152, 6);
      expect(at(table.C1_F, 0.6, 30).value).toBeCloseTo(29894.6, 1);
      expect(at(table.R0_ohm, 0.6, 30).flag).toBe('inside');
    });

    it('holds the edge outside and flags it', () => {
      expect(at(table.R0_ohm, 0.5, -10)).toEqual({ value: 0.0107, flag: 'outside-temperature' });
      expect(at(table.R0_ohm, 1.2, 20)).toEqual({ value: 0.0085, flag: 'outside-soc' });
      expect(at(table.R0_ohm, -0.2, 60).flag).toBe('outside-both');
    });

    it('keeps R0 that rises with temperature as it is', () => {
      expect(at(table.R0_ohm, 0.5, 20).value).toBeLessThan(at(table.R0_ohm, 0.5, 40).value as number);
    });
  },
);

describe('tabulate(values)', () => {
  it('gathers scattered values and leaves holes where nothing was measured', () => {
    const table = tabulate([
      { soc: 0.5, temperatureC: 25.2, value: 1 },
      { soc: 0.505, temperatureC: 24.9, value: 3 },
      { soc: 0.9, temperatureC: 25, value: 4 },
      { soc: 0.9, temperatureC: 10, value: 5 },
    ]);
    expect(table.values).toEqual([
      [null, 2],
      [5, 4],
    ]);
    expect(interpolateTable(table, 0.7, 15).flag).toBe('hole');
    expect(interpolateTable(table, 0.7, 26).value).toBeGreaterThan(2);
    expect(() => interpolateTable({ soc: [1, 0], temperatureC: [0], values: [[1], [2]] }, 0, 0)).toThrow(
      /soc\[1\]/,
    );
  });
});
