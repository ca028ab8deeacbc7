import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { BRANCH, OCV, R0 } from '../../fitting/charging/cellModel.ts';
import { heatGenerationW, lumpedTemperatureC } from '../../fitting/charging/heat.ts';
import { equalPaths } from '../../fitting/charging/ratioStage.ts';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import type { Supply } from '../../fitting/charging/supply.ts';
import { SupplyModel } from '../../fitting/charging/supplyModel.ts';
import { charged, linearCell, row, setupOf } from '../fitting/charging/builders.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

describe('worked examples of charge limits', () => {
  it('outside the charge-temperature window the answer is none, with the reason (0 to 45 °C as in charging precautions of cell makers)', () => {
    const cell = charged(linearCell(2.5, 0.05), 0.1, {
      startTemperatureC: -5,
      minTemperatureC: 0,
      maxTemperatureC: 45,
    });
    const charge = simulateCharge(setupOf([cell], { ambientTemperatureC: -5 }));
    expect(charge.endReason).toBe('outside-temperature-window');
    expect(charge.endTimeS).toBe(0);
    expect(charge.cells[0].endSoc).toBe(0.1);
  });

  it('heat of a discharge with its entropic part (Bernardi et al. 1985)', () => {
    // 2.5 A of discharge are −2.5 A here.
    expect(heatGenerationW(-2.5, 3.55, 3.7, 25, -0.15e-3)).toBeCloseTo(0.48680625, 8);
    // The reversible part changes sign with the current, the other does not.
    expect(heatGenerationW(2.5, 3.85, 3.7, 25, -0.15e-3)).toBeCloseTo(0.375 - 0.11180625, 8);
  });

  it('lumped temperature in closed form', () => {
    const body = { heatCapacityJPerK: 0.0475 * 1000, heatTransferWPerK: 10 * 0.00418 };
    const heatW = 2.5 ** 2 * 0.05;
    expect(lumpedTemperatureC(body, heatW, 25, 25, 600)).toBeCloseTo(28.066811, 6);
    expect(lumpedTemperatureC(body, heatW, 25, 25, 3600)).toBeCloseTo(32.161426, 6);
    expect(lumpedTemperatureC({ ...body, heatTransferWPerK: 0 }, heatW, 25, 25, 60) - 25).toBeCloseTo(
      0.394737,
      6,
    );
  });

  it('a specific heat at both ends of the published range gives the warming at rest from heat alone', () => {
    // 800 to 1100 J/(kg K): the adiabatic warming is the heat over m c_p.
    for (const specific of [800, 1100]) {
      const body = { heatCapacityJPerK: 0.0475 * specific, heatTransferWPerK: 0 };
      const cell = charged(linearCell(25, 0.05, { thermal: body }), 0.1);
      const charge = simulateCharge(setupOf([cell], { maxDurationS: 600 }));
      expect(charge.cells[0].endTemperatureC - 25).toBeCloseTo(
        (2.5 ** 2 * 0.05 * 600) / (0.0475 * specific),
        8,
      );
    }
  });
});

describe.skipIf(sharedIsMissing('reference/ecm_reference.json'))(
  'a published table over SOC and temperature',
  () => {
    it('is read bilinearly to the printed check (Huria et al. 2012, doi:10.1109/IEVC.2012.6183271)', () => {
      const { huria2012OneRC: table } = JSON.parse(
        readFileSync(sharedPath('reference/ecm_reference.json'), 'utf8'),
      ) as {
        huria2012OneRC: {
          soc: number[];
          temperature_degC: number[];
          ocv_V: number[][];
          R0_ohm: number[][];
          R1_ohm: number[][];
        };
      };
      const flat = (rows: number[][]) => row(...rows.flat());
      const cell = linearCell(27.625, 0.01, {
        soc: row(...table.soc),
        temperatureC: row(...table.temperature_degC),
        ocv: { kind: 'table', values: flat(table.ocv_V), interpolation: 'linear' },
        r0Ohm: flat(table.R0_ohm),
        branches: [{ rOhm: flat(table.R1_ohm), tauS: new Float64Array(21).fill(30) }],
      });
      const out = new Float64Array(cell.stride);
      cell.evaluate(0.6, 30, cell.socStretch(0.6), cell.temperatureStretch(30), out, 0);
      expect(out[OCV]).toBeCloseTo(3.8029, 4);
      expect(out[R0] * 1e3).toBeCloseTo(8.58, 3);
      expect((out[BRANCH] / out[BRANCH + 1]) * 1e3).toBeCloseTo(1.52, 3);
    });
  },
);

// Figures that people who design chargers use; common practice, no source.
describe('figures of common practice (no source)', () => {
  const source = {
    minVoltageV: 0,
    maxVoltageV: 20,
    maxCurrentA: 5,
    maxPowerW: null,
    voltageStepV: null,
    currentStepA: null,
  };
  const supply: Supply = {
    source,
    cable: { resistanceOhm: 0.1, maxCurrentA: null },
    ratioStage: null,
    regulator: null,
  };
  const stage = { paths: equalPaths(1, 20), efficiency: null, minStackVoltageV: 0, minOutputCurrentA: 0 };

  it('10 A into 2.25 Ah are 4.4 C', () => {
    expect(10 / 2.25).toBeCloseTo(4.4, 1);
    const charge = simulateCharge(
      setupOf([charged(linearCell(2.25, 0.001), 0.1)], { stages: [{ currentA: 10, until: null }] }),
    );
    // 4.4 C fills 40 % of SOC in 0.4 / 4.4 hours.
    expect(charge.timesS[0]).toBeCloseTo((0.4 / (10 / 2.25)) * 3600, 6);
  });

  it('a 3 A cable divided by four gives 12 A; two paths of 5 A divided by two from 5 A give 10 A', () => {
    const byFour: Supply = {
      ...supply,
      cable: { resistanceOhm: 0.1, maxCurrentA: 3 },
      ratioStage: { ...stage, ratio: 4 },
    };
    const least = (of: Supply) =>
      Math.min(...new SupplyModel(of, 0).caps('ratio').map((cap) => cap.currentA));
    expect(least(byFour)).toBe(12);
    const byTwo = (paths: number): Supply => ({
      ...supply,
      ratioStage: { ...stage, ratio: 2, paths: equalPaths(paths, 5) },
    });
    expect(least(byTwo(2))).toBe(10);
    expect(least(byTwo(1))).toBe(5);
  });

  it('a 1 C charge of an ordinary cell takes about an hour and a half', () => {
    const charge = simulateCharge(
      setupOf([charged(linearCell(2.5, 0.06), 0)], { stages: [{ currentA: 2.5, until: null }] }),
    );
    expect(charge.endTimeS / 3600).toBeGreaterThan(1.2);
    expect(charge.endTimeS / 3600).toBeLessThan(1.7);
  });

  it('at 5.3 C a cell of very low resistance is full in under 20 minutes', () => {
    // A measured OCV shape (Schmalstieg et al. 2014 fig. 1) and 4 mΩ at 2.5 Ah.
    const ocv = row(3.331, 3.491, 3.581, 3.627, 3.655, 3.697, 3.775, 3.869, 3.965, 4.073, 4.162);
    const soc = row(0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1);
    const cell = linearCell(2.5, 0.004, {
      soc,
      ocv: { kind: 'table', values: ocv, interpolation: 'linear' },
      r0Ohm: new Float64Array(11).fill(0.004),
    });
    const charge = simulateCharge(
      setupOf([charged(cell, 0)], { stages: [{ currentA: 5.3 * 2.5, until: null }] }),
    );
    expect(charge.endReason).toBe('end-current');
    expect(charge.endTimeS / 60).toBeLessThan(20);
    expect(charge.endTimeS / 60).toBeGreaterThan(11.3);
  });

  it('full current flows to the limit, and the cell with the higher voltage sets the taper', () => {
    const low = charged(linearCell(2.5, 0.05), 0.1);
    const high = charged(linearCell(2.5, 0.05), 0.2);
    const charge = simulateCharge(setupOf([low, high]));
    expect(charge.phases.map((phase) => phase.kind)).toEqual(['constant-current', 'constant-voltage']);
    expect(charge.phases[0].endCurrentA).toBe(2.5);
    expect(charge.phases[1].limitingCell).toBe(1);
    expect(charge.cells[0].endVoltageV).toBeLessThan(charge.cells[1].endVoltageV);
    expect(charge.cells[1].peakVoltageV).toBeLessThan(4.2 + 1e-9);
  });
});
