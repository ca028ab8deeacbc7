import { describe, expect, it } from 'vitest';
import { equalPaths } from '../../../fitting/charging/ratioStage.ts';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { downToStep, type Supply } from '../../../fitting/charging/supply.ts';
import { SupplyModel } from '../../../fitting/charging/supplyModel.ts';
import { charged, linearCell, row, setupOf } from './builders.ts';

const source = {
  minVoltageV: 3,
  maxVoltageV: 20,
  maxCurrentA: 3,
  maxPowerW: null,
  voltageStepV: 0.02,
  currentStepA: 0.05,
};
const cable = { resistanceOhm: 0.15, maxCurrentA: null };
const byTwo = {
  ratio: 2 as const,
  paths: equalPaths(1, 8),
  efficiency: { efficiency: 0.97, of: 'all-paths' as const },
  minStackVoltageV: 0,
  minOutputCurrentA: 0,
};
const regulator = {
  kind: 'step-down' as const,
  maxOutputCurrentA: 2,
  efficiency: 0.9,
  inputVoltageV: 9,
  headroomV: 0,
};

const stackOf = (soc: number, rated = 20) => [
  charged(linearCell(2.5, 0.03), soc, { ratedCurrentA: rated }),
  charged(linearCell(2.5, 0.03), soc, { ratedCurrentA: rated }),
];
const chargeWith = (supply: Supply, currentA: number, overrides = {}) =>
  simulateCharge(setupOf(stackOf(0.1), { supply, stages: [{ currentA, until: null }], ...overrides }));

function busOf(supply: Supply, stackA: number, cellsV: number, mode: 'ratio' | 'regulator' = 'ratio') {
  const bus = { sourceV: 0, converterV: 0, currentA: 0 };
  new SupplyModel(supply, 0).bus(mode, stackA, cellsV, bus);
  return bus;
}

describe('source, cable and converter', () => {
  it('a source current limit times the ratio holds the stack current, and is named', () => {
    const charge = chargeWith({ source, cable, ratioStage: byTwo, regulator: null }, 10);
    expect(charge.phases[0].startCurrentA).toBeCloseTo(6, 12);
    expect(charge.limits[0]).toMatchObject({ limit: 'source-current', cell: null });
    expect(charge.limits.at(-1)?.limit).toBe('cell-voltage');
  });

  it('each limit binds in turn when it is the smallest', () => {
    const named = (supply: Supply) => chargeWith(supply, 10).limits[0].limit;
    expect(named({ source, cable: { ...cable, maxCurrentA: 2.5 }, ratioStage: byTwo, regulator: null })).toBe(
      'cable-current',
    );
    const narrow = { ...byTwo, paths: equalPaths(1, 4) };
    expect(named({ source, cable, ratioStage: narrow, regulator: null })).toBe('converter-current');
    expect(named({ source, cable, ratioStage: null, regulator })).toBe('regulator-current');
    expect(chargeWith({ source, cable, ratioStage: byTwo, regulator: null }, 1).limits[0].limit).toBe(
      'stage-current',
    );
  });

  it('the set current is a whole number of the steps of the supply times the ratio', () => {
    const charge = chargeWith({ source, cable, ratioStage: byTwo, regulator: null }, 3.777);
    expect(charge.phases[0].startCurrentA).toBeCloseTo(3.7, 12);
    expect(downToStep(3, 0.05)).toBeCloseTo(3, 12);
  });

  it('bus values: input voltage is ratio × stack / efficiency, the cable drops I R, and the energy adds up', () => {
    const supply = { source, cable, ratioStage: byTwo, regulator: null };
    const bus = busOf(supply, 6, 8);
    expect(bus.currentA).toBe(3);
    expect(bus.converterV).toBeCloseTo(16 / 0.97, 12);
    expect(bus.sourceV).toBeCloseTo(16 / 0.97 + 0.45, 12);
    const { energy } = chargeWith(supply, 6);
    expect(energy.converterLossWh / (energy.fromSourceWh - energy.cableLossWh)).toBeCloseTo(0.03, 9);
    const sum = energy.intoStackWh + energy.cableLossWh + energy.converterLossWh;
    expect(sum / energy.fromSourceWh).toBeCloseTo(1, 9);
    expect(Math.abs(energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
  });

  it('a source that is just too low in voltage limits the current behind its cable, by Ohm’s law', () => {
    const low = { ...source, maxVoltageV: 8, currentStepA: null };
    const charge = chargeWith({ source: low, cable, ratioStage: null, regulator: null }, 2.5, {
      seriesStepS: 60,
    });
    const limited = charge.phases.find((phase) => phase.kind === 'source-limited');
    expect(limited).toBeDefined();
    expect(charge.limits.some((stretch) => stretch.limit === 'source-voltage')).toBe(true);
    const at = charge.series?.timeS.findIndex((time) => time > (limited?.startTimeS ?? 0) + 60) ?? 0;
    const current = (8 - (charge.series?.stackVoltageV[at] ?? 0)) / 0.15;
    expect(charge.series?.currentA[at]).toBeCloseTo(current, 6);
    expect(charge.endReason).toBe('bus-voltage-too-low');
  });

  it('a source that cannot reach the ratio’s voltage at all is refused by name', () => {
    expect(() =>
      chargeWith({ source: { ...source, maxVoltageV: 12 }, cable, ratioStage: byTwo, regulator: null }, 2),
    ).toThrow(/bus voltage too low: source.maxVoltageV 12 gives at most 12 V/);
  });

  it('a power limit makes the current fall as the voltage rises', () => {
    const weak = { ...source, maxPowerW: 20, currentStepA: null };
    const charge = chargeWith({ source: weak, cable, ratioStage: byTwo, regulator: null }, 6, {
      seriesStepS: 30,
    });
    expect(charge.limits[0].limit).toBe('source-power');
    const { series } = charge;
    for (let r = 1; r < 20; r++) {
      const power = (series?.busVoltageV?.[r] ?? 0) * (series?.busCurrentA?.[r] ?? 0);
      expect(power).toBeCloseTo(20, 6);
    }
    expect(series?.currentA[19]).toBeLessThan(series?.currentA[1] ?? 0);
  });

  it('the regulator serves precharge and end, the fixed ratio the fast part between', () => {
    const ratioStage = { ...byTwo, minStackVoltageV: 7, minOutputCurrentA: 0.6 };
    const charge = chargeWith({ source, cable, ratioStage, regulator }, 5, {
      precharge: { belowCellVoltageV: 3.55, currentA: 0.5 },
    });
    expect(charge.phases.map((phase) => phase.converterMode)).toEqual([
      'regulator',
      'ratio',
      'ratio',
      'regulator',
    ]);
    expect(charge.phases.map((phase) => phase.kind)).toEqual([
      'precharge',
      'constant-current',
      'constant-voltage',
      'constant-voltage',
    ]);
    expect(charge.phases[2].endCurrentA).toBeCloseTo(0.6, 6);
    expect(charge.endReason).toBe('end-current');
    expect(Math.abs(charge.energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
  });

  it('an efficiency table holds the power; only what grows with the square of the current shows as voltage', () => {
    // Loss over the output voltage, I (1/η − 1) = 0.02 + 0.0025 I², at four currents.
    const lossA = (a: number) => 0.02 + 0.0025 * a * a;
    const currents = [0.1, 2, 5, 8];
    const efficiency = {
      outputCurrentA: row(...currents),
      efficiency: row(...currents.map((a) => a / (a + lossA(a)))),
    };
    const supply = (of: 'one-path' | 'all-paths', paths = 1): Supply => ({
      source: { ...source, maxCurrentA: 10 },
      cable: { resistanceOhm: 0, maxCurrentA: null },
      ratioStage: { ...byTwo, paths: equalPaths(paths, 8), efficiency: { efficiency, of } },
      regulator: null,
    });
    for (const a of currents) {
      const bus = busOf(supply('all-paths'), a, 8);
      expect(bus.converterV).toBeCloseTo(2 * 8 * (1 + 0.0025 * a), 9);
      expect(bus.converterV * bus.currentA).toBeCloseTo(8 * (a + lossA(a)), 9);
    }
    // At no load the bus stands at twice the stack, not at twice the stack over a poor efficiency.
    expect(busOf(supply('all-paths'), 0.001, 8.37).converterV).toBeCloseTo(16.74, 2);
    // Read for one path, two paths of 5 A lose what one loses twice; read for all, the table ends at 8 A.
    const two = busOf(supply('one-path', 2), 10, 8);
    expect(two.converterV * two.currentA - 80).toBeCloseTo(2 * 8 * lossA(5), 9);
    const all = busOf(supply('all-paths', 2), 8, 8);
    expect(all.converterV * all.currentA - 64).toBeCloseTo(8 * lossA(8), 9);
    const { energy } = chargeWith(supply('one-path', 2), 6);
    expect(Math.abs(energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
  });

  it('refuses an efficiency above 1 and a regulator above its source', () => {
    const wrong = { ...byTwo, efficiency: { efficiency: 1.1, of: 'all-paths' as const } };
    expect(() => chargeWith({ source, cable, ratioStage: wrong, regulator: null }, 2)).toThrow(
      'converter.ratioStage.efficiency is 1.1; it must lie in (0, 1]',
    );
    expect(() =>
      chargeWith({ source, cable, ratioStage: null, regulator: { ...regulator, inputVoltageV: 24 } }, 2),
    ).toThrow('converter.regulator.inputVoltageV is 24; the source reaches 20');
  });
});
