import { describe, expect, it } from 'vitest';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { busValues, downToStep, type Supply } from '../../../fitting/charging/supply.ts';
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
  paths: 1,
  maxPathCurrentA: 8,
  efficiency: 0.97,
  minStackVoltageV: 0,
  minOutputCurrentA: 0,
};
const regulator = { maxOutputCurrentA: 2, efficiency: 0.9, inputVoltageV: 9, headroomV: 0 };

const stackOf = (soc: number, rated = 20) => [
  charged(linearCell(2.5, 0.03), soc, { ratedCurrentA: rated }),
  charged(linearCell(2.5, 0.03), soc, { ratedCurrentA: rated }),
];
const chargeWith = (supply: Supply, currentA: number, overrides = {}) =>
  simulateCharge(setupOf(stackOf(0.1), { supply, stages: [{ currentA, until: null }], ...overrides }));

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
    const narrow = { ...byTwo, maxPathCurrentA: 4 };
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
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    busValues(supply, 'ratio', 6, 8, bus);
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

  it('an efficiency table is read at the output current', () => {
    const efficiency = { outputCurrentA: row(0, 4, 8), efficiency: row(0.9, 0.98, 0.96) };
    const supply = { source, cable, ratioStage: { ...byTwo, efficiency }, regulator: null };
    const bus = { sourceV: 0, converterV: 0, currentA: 0 };
    busValues(supply, 'ratio', 6, 8, bus);
    expect(bus.converterV).toBeCloseTo(16 / 0.97, 12);
    const { energy } = chargeWith(supply, 6);
    expect(Math.abs(energy.balanceErrorRelative ?? 1)).toBeLessThan(1e-9);
  });

  it('refuses an efficiency above 1 and a regulator above its source', () => {
    const wrong = { ...byTwo, efficiency: 1.1 };
    expect(() => chargeWith({ source, cable, ratioStage: wrong, regulator: null }, 2)).toThrow(
      'converter.ratioStage.efficiency is 1.1; it must lie in (0, 1]',
    );
    expect(() =>
      chargeWith({ source, cable, ratioStage: null, regulator: { ...regulator, inputVoltageV: 24 } }, 2),
    ).toThrow('converter.regulator.inputVoltageV is 24; the source reaches 20');
  });
});
