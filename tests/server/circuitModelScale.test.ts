import { describe, expect, it } from 'vitest';
import { capacityAtAge, onOwnScale } from '../../server/assess/parameters/ownScale.ts';
import type { CellParameters, CellTypeParameters, CircuitTable } from '../../server/contract/parameterSet.ts';
import { circuitModelOf, studyModel } from '../../server/export/circuitModel.ts';

const ohm = (value: number) => ({
  value,
  unit: 'Ohm' as const,
  standardUncertainty: value / 100,
  reason: null,
});
const volt = (value: number) => ({ value, unit: 'V' as const, standardUncertainty: 5e-4, reason: null });
const seconds = (value: number) => ({
  value,
  unit: 's' as const,
  standardUncertainty: value / 20,
  reason: null,
});
const ah = (value: number) => ({ value, unit: 'A.h' as const, standardUncertainty: null, reason: null });
const celsius = (value: number) => ({ value, unit: 'Cel' as const, standardUncertainty: null, reason: null });
const none = (unit: 'J/K' | 'W/K' | 'g') => ({
  value: null,
  unit,
  standardUncertainty: null,
  reason: 'not-stated',
});

const socs = [0.1, 0.3, 0.5, 0.7, 0.9];
function table(
  direction: 'charge' | 'discharge',
  shift: number,
  branches: number,
  more: Partial<CircuitTable> = {},
): CircuitTable {
  return {
    direction,
    temperatureC: 25,
    rows: socs.map((soc) => ({
      soc: soc + shift,
      currentA: 2,
      ocv: volt(3.4 + 0.8 * soc),
      r0: ohm(0.02),
      branches: [
        { r: ohm(0.005), tau: seconds(2) },
        { r: ohm(0.006), tau: seconds(25) },
      ].slice(0, branches),
      covariance: null,
    })),
    validity: {
      socMin: 0.1,
      socMax: 0.9,
      temperatureMinC: 25,
      temperatureMaxC: 25,
      currentMaxA: 2,
      durationMaxS: direction === 'charge' ? 10 : 30,
    },
    fitId: 1,
    testId: 1,
    ...more,
  };
}
function cellOf(circuits: CircuitTable[], ocvSoc = socs): CellParameters {
  return {
    id: 1,
    serial: 'A',
    state: 'available',
    stateReason: null,
    lot: { id: 1, name: 'lot' },
    capacity: ah(2),
    measurements: [],
    openCircuit: {
      source: 'rests',
      temperatureC: 25,
      rows: ocvSoc.map((soc) => ({ soc, ocv: volt(3.4 + 0.8 * soc) })),
      fitId: 1,
      testId: 1,
    },
    circuits,
    ageing: [],
    leftOut: [],
  };
}
const cellType: CellTypeParameters = {
  id: 1,
  name: 'type',
  maker: '',
  chemistry: 'NMC',
  ratedCapacity: ah(2),
  limits: {
    chargeVoltage: volt(4.2),
    dischargeCutoff: volt(2.5),
    chargeCurrent: { value: 2, unit: 'A', standardUncertainty: null, reason: null },
    chargeTemperatureMin: celsius(0),
    chargeTemperatureMax: celsius(45),
    commonPractice: [],
  },
  heatCapacity: none('J/K'),
  heatTransfer: none('W/K'),
  mass: none('g'),
};

describe('the model that a study is drafted from', () => {
  it('scales each record by the capacity of its own age, not by that of the aged cell', () => {
    const capacity = (cycle: number | null, value: number, excludedReason: string | null = null) => ({
      quantity: 'capacity' as const,
      cycle,
      value,
      excludedReason,
    });
    const life = [
      capacity(null, 2.2),
      capacity(300, 2.0),
      capacity(620, 1.7),
      capacity(610, 9, 'implausible'),
    ];
    expect(capacityAtAge(life, null)?.value).toBe(2.2);
    expect(capacityAtAge(life, 290)?.value).toBe(2.0);
    expect(capacityAtAge(life, 615)?.value).toBe(1.7);
    expect(capacityAtAge(life, 460)?.value).toBe(1.7);
    expect(capacityAtAge([], 3)).toBeNull();
    expect(capacityAtAge([capacity(5, 2.1), capacity(5, 2.05)], 5)?.value).toBe(2.05);
  });

  it('puts a state counted in the rated capacity on the cell’s own scale', () => {
    const scale = onOwnScale({ fixedSoc: 1, capacityAh: 33.1 }, 30.33);
    // 16.55 Ah out of a full cell of 30.33 Ah.
    expect(scale(0.5)).toBeCloseTo(1 - 16.55 / 30.33, 12);
    expect(scale(1)).toBe(1);
    const fromEmpty = onOwnScale({ fixedSoc: 0, capacityAh: 2 }, 1.8);
    expect(fromEmpty(0.45)).toBeCloseTo(0.5, 12);
    expect(onOwnScale({ fixedSoc: 1, capacityAh: null }, 2)(0.3)).toBe(0.3);
    expect(onOwnScale({ fixedSoc: 1, capacityAh: 2 }, null)(0.3)).toBe(0.3);
  });

  it('takes the table that shows more of the polarisation, and says which and why', () => {
    const both = cellOf([table('charge', -0.005, 0), table('discharge', 0, 2)]);
    const model = circuitModelOf(both, cellType);
    expect(model.direction).toBe('discharge');
    expect(model.cell.branches).toHaveLength(2);
    expect(model.notes[0]).toContain('discharge pulses');
    expect(model.notes[0]).toContain('show more of the polarisation than the charge pulses');
    const alike = cellOf([
      table('charge', 0, 2, { validity: { ...table('charge', 0, 2).validity, durationMaxS: 30 } }),
      table('discharge', 0, 2),
    ]);
    expect(circuitModelOf(alike, cellType).direction).toBe('charge');
  });

  it('is warned of where no branch and no slow polarisation is known', () => {
    const codes = (cell: CellParameters) => circuitModelOf(cell, cellType).warnings.map(({ code }) => code);
    expect(codes(cellOf([table('charge', 0, 0)]))).toContain('no-polarisation');
    expect(codes(cellOf([table('charge', 0, 2)]))).toContain('no-slow-polarisation');
  });

  it('gets a slow branch that makes up the whole polarisation of the long loads', () => {
    const rests = [0.2, 0.6, 0.8].map((soc) => ({
      soc,
      currentA: -1,
      loadS: 1200,
      resistance: ohm(0.043),
      tauS: soc === 0.6 ? null : 600,
    }));
    const model = circuitModelOf(cellOf([table('discharge', 0, 2, { restPolarisations: rests })]), cellType);
    expect(model.warnings.map(({ code }) => code)).not.toContain('no-slow-polarisation');
    const [, , slow] = model.cell.branches;
    // 43 mΩ less 20, 5 and 6, which 1200 s of load had built up to 1 − e⁻².
    for (const r of slow.rOhm as number[]) expect(r).toBeCloseTo(0.012 / (1 - Math.exp(-2)), 9);
    expect(slow.tauS).toEqual(new Array((slow.tauS as number[]).length).fill(600));
    // What is within a few percent of the whole is no branch.
    const little = rests.map((rest) => ({ ...rest, resistance: ohm(0.0313) }));
    expect(
      circuitModelOf(cellOf([table('discharge', 0, 2, { restPolarisations: little })]), cellType).cell
        .branches,
    ).toHaveLength(2);
  });

  it('has one row for states that are the same, and an open-circuit curve that is bounded and warned of beyond its ends', () => {
    const model = circuitModelOf(cellOf([table('discharge', 3e-5, 2)]), cellType);
    expect(model.cell.soc).toEqual([...socs, 1]);
    const steep = cellOf([table('discharge', 0, 2)]);
    steep.openCircuit?.rows.splice(4, 1, { soc: 0.9, ocv: volt(4.18) });
    const bounded = circuitModelOf(steep, cellType);
    expect((bounded.cell.ocvV as number[]).at(-1)).toBe(4.2);
    expect(bounded.warnings.map(({ code }) => code)).toEqual(
      expect.arrayContaining(['open-circuit-extrapolated', 'open-circuit-extrapolated-below']),
    );
    expect(bounded.warnings.find(({ code }) => code === 'open-circuit-extrapolated')?.message).toContain(
      'up to 90 % SOC',
    );
    const whole = circuitModelOf(cellOf([table('discharge', 0, 2)], [0, 0.5, 1]), cellType);
    expect(whole.warnings.map(({ code }) => code)).not.toContain('open-circuit-extrapolated');
    expect(studyModel(steep, cellType, 0.1).cell.ocvInterpolation).toBe('pchip');
  });
});
