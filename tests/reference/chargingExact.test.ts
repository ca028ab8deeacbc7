import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../fitting/charging/simulateCharge.ts';
import { branch, charged, linearCell, setupOf } from '../fitting/charging/builders.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// Solutions in closed form for linear OCV, each checked against an independent integration of the differential equations.
const FILE = 'reference/charging_exact.json';

interface Exact {
  singleCell_R_linearOCV: {
    tCC_s: number;
    tCV_s: number;
    socAtSwitch: number;
    socEnd: number;
    chargeCV_Ah: number;
    heatCC_J: number;
    heatCV_J: number;
    energyIn_Wh: number;
    currentInCV_A: Record<string, number>;
  };
  singleCell_R_RC_linearOCV: {
    tCC_s: number;
    tCV_s: number;
    socEnd: number;
    currentInCV_A: Record<string, number>;
  };
  twoCellSeries_perCellLimit: {
    tCC_s: number;
    tCV_s: number;
    endVoltage_V: { A: number; B: number };
    endSoc: { A: number; B: number };
    restOcv_V: { A: number; B: number };
  };
  lumpedThermal: { tau_s: number; dTinf_K: number; T_degC: Record<string, number> };
}

describe.skipIf(sharedIsMissing(FILE))('a simulated charge against exact solutions', () => {
  const exact = JSON.parse(readFileSync(sharedPath(FILE), 'utf8')) as Exact;

  it('one cell with a resistance: switch, end, SOC, heat and energy (4.1)', () => {
    const want = exact.singleCell_R_linearOCV;
    const charge = simulateCharge(setupOf([charged(linearCell(2.5, 0.05), 0.1)]));
    const [cc, cv] = charge.phases;
    expect(charge.phases).toHaveLength(2);
    expect(cc.endTimeS).toBeCloseTo(want.tCC_s, 6);
    expect(cv.endTimeS - cv.startTimeS).toBeCloseTo(want.tCV_s, 3);
    expect(charge.socAtVoltageLimit).toBeCloseTo(want.socAtSwitch, 9);
    expect(charge.cells[0].endSoc).toBeCloseTo(want.socEnd, 8);
    expect(charge.cells[0].endVoltageV).toBeCloseTo(4.2, 9);
    expect(2.5 * (charge.cells[0].endSoc - want.socAtSwitch)).toBeCloseTo(want.chargeCV_Ah, 7);
    expect(charge.energy.cellLossWh * 3600).toBeCloseTo(want.heatCC_J + want.heatCV_J, 4);
    expect(charge.energy.intoStackWh).toBeCloseTo(want.energyIn_Wh, 8);
    expect(charge.endReason).toBe('end-current');
  });

  it('the current in the taper of one cell, at 600, 1200 and 1800 s (4.1)', () => {
    const want = exact.singleCell_R_linearOCV;
    const { series } = simulateCharge(setupOf([charged(linearCell(2.5, 0.05), 0.1)], { seriesStepS: 0.5 }));
    for (const [after, current] of Object.entries(want.currentInCV_A).filter(
      ([s]) => Number(s) < want.tCV_s,
    )) {
      const index = series?.timeS.indexOf(want.tCC_s + Number(after)) ?? -1;
      expect(index).toBeGreaterThan(0);
      expect(series?.currentA[index]).toBeCloseTo(current, 7);
    }
  });

  it('one cell with an RC branch: taper time, end SOC and current (4.2)', () => {
    const want = exact.singleCell_R_RC_linearOCV;
    const cell = linearCell(2.5, 0.03, { branches: [branch(0.02, 30)] });
    const charge = simulateCharge(setupOf([charged(cell, 0.1)], { seriesStepS: 0.5 }));
    const [cc, cv] = charge.phases;
    expect(cc.endTimeS).toBeCloseTo(want.tCC_s, 4);
    expect(Math.abs(cv.endTimeS - cv.startTimeS - want.tCV_s)).toBeLessThan(0.01);
    expect(charge.cells[0].endSoc).toBeCloseTo(want.socEnd, 6);
    const at = charge.series?.timeS.indexOf(2677.5 + 600) ?? -1;
    expect(charge.series?.currentA[at]).toBeCloseTo(want.currentInCV_A['600'], 6);
  });

  it('two cells, a limit on each: the smaller one holds the current and the other stays below (4.3)', () => {
    const want = exact.twoCellSeries_perCellLimit;
    const charge = simulateCharge(
      setupOf([charged(linearCell(2.4, 0.055), 0.15), charged(linearCell(2.5, 0.05), 0.1)]),
    );
    const [cc, cv] = charge.phases;
    expect(cv.limitingCell).toBe(0);
    expect(cc.endTimeS).toBeCloseTo(want.tCC_s, 6);
    expect(cv.endTimeS - cv.startTimeS).toBeCloseTo(want.tCV_s, 3);
    expect(charge.cells[0].endVoltageV).toBeCloseTo(want.endVoltage_V.A, 9);
    expect(charge.cells[1].endVoltageV).toBeCloseTo(want.endVoltage_V.B, 8);
    expect(charge.cells[0].endSoc).toBeCloseTo(want.endSoc.A, 8);
    expect(charge.cells[1].endSoc).toBeCloseTo(want.endSoc.B, 8);
    expect(3.4 + 0.8 * charge.cells[0].endSoc).toBeCloseTo(want.restOcv_V.A, 8);
    expect(3.4 + 0.8 * charge.cells[1].endSoc).toBeCloseTo(want.restOcv_V.B, 8);
  });

  it('the lumped heat balance under a constant current, at 600, 1800 and 3600 s (4.4)', () => {
    const want = exact.lumpedThermal;
    // A capacity large enough that 2.5 A for an hour stays below the voltage limit.
    const cell = linearCell(25, 0.05, { thermal: { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 } });
    const { series } = simulateCharge(
      setupOf([charged(cell, 0.1)], { seriesStepS: 600, maxDurationS: 3600 }),
    );
    for (const [time, temperature] of Object.entries(want.T_degC))
      expect(series?.cells[0].temperatureC[series.timeS.indexOf(Number(time))]).toBeCloseTo(temperature, 7);
  });

  it('closes the balance of energy and of heat to 1e-9 in all of them', () => {
    const thermal = { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 };
    const cells = [
      linearCell(2.4, 0.055, { thermal }),
      linearCell(2.5, 0.05, { thermal, branches: [branch(0.02, 30)] }),
    ];
    for (const cell of cells) {
      const { energy } = simulateCharge(setupOf([charged(cell, 0.1)]));
      expect(Math.abs(energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
      expect(Math.abs(energy.thermalBalanceErrorRelative ?? 1)).toBeLessThan(1e-9);
    }
  });
});
