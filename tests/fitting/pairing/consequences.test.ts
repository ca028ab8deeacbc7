import { describe, expect, test } from 'vitest';
import {
  type CellOfPair,
  groupConsequences,
  pairConsequences,
  usableChargeAh,
} from '../../../fitting/pairing/consequences.ts';

const cell = (known: Partial<CellOfPair>): CellOfPair => ({
  capacityAh: null,
  resistanceOhm: null,
  voltageDriftVPerDay: null,
  capacityFadeAhPerCycle: null,
  resistanceRiseOhmPerCycle: null,
  ...known,
});
const use = {
  chargeCurrentA: null,
  levelledAtSoc: 1,
  daysPerCycle: 1,
  openCircuitSlopeV: null,
  cycles: null,
};

// Derived: usable charge of two cells in series, worked out by hand.
test.each([
  [[2.4, 2.5], [1, 1], 2.4],
  [[2.4, 2.5], [1, 0.95], 2.375],
  [[2.4, 2.5], [0.97, 1], 2.328],
  [[2.5, 2.5], [1, 0.95], 2.375],
])('cells of %j Ah at SOC %j give %d Ah', (capacities, socs, expected) => {
  expect(usableChargeAh(socs, capacities)).toBeCloseTo(expected, 12);
});

describe('pairConsequences', () => {
  test('the smaller cell sets the usable capacity, and half the difference is lost against the mean', () => {
    const found = pairConsequences(cell({ capacityAh: 2.4 }), cell({ capacityAh: 2.5 }), use);
    expect(found.usableCapacityAh).toBeCloseTo(2.4, 12);
    expect(found.capacityLossAh).toBeCloseTo(0.05, 12);
    expect(found.capacityLossPercent).toBeCloseTo((100 * 0.05) / 2.45, 12);
    expect(found.limitsDischarge).toBe(0);
  });

  // A worked example of grading by drift: 4.1385 → 4.1361 V in 14 d is 0.171429 mV/d; with a slope of 0.9 V and 2.5 Ah
  // that is a leakage of 19.841 µA.
  test('unequal drift gives the bypass charge and the SOC drift', () => {
    const drifting = cell({ capacityAh: 2.5, voltageDriftVPerDay: (4.1385 - 4.1361) / 14 });
    const tight = cell({ capacityAh: 2.5, voltageDriftVPerDay: 0 });
    const found = pairConsequences(drifting, tight, { ...use, openCircuitSlopeV: 0.9, daysPerCycle: 7 });
    expect(found.bypassChargePerCycleAh).toBeCloseTo(19.841e-6 * 24 * 7, 7);
    expect(found.socDriftPerMonth).toBeCloseTo((0.171429e-3 / 0.9) * 30.436875, 7);
  });

  test('the more resistive cell leads in voltage at the planned current and limits the charge', () => {
    const found = pairConsequences(cell({ resistanceOhm: 0.02 }), cell({ resistanceOhm: 0.023 }), {
      ...use,
      chargeCurrentA: 5,
    });
    expect(found.voltageDifferenceV).toBeCloseTo(0.015, 12);
    expect(found.limitsCharge).toBe(1);
    const noCurrent = pairConsequences(cell({ resistanceOhm: 0.02 }), cell({ resistanceOhm: 0.023 }), use);
    expect(noCurrent).toMatchObject({ limitsCharge: 1, voltageDifferenceV: null });
  });

  test('levelled when empty the smaller cell is full first; against resistance the OCV slope decides, or nobody', () => {
    const small = cell({ capacityAh: 2.4, resistanceOhm: 0.02 });
    const large = cell({ capacityAh: 2.5, resistanceOhm: 0.023 });
    const empty = { ...use, levelledAtSoc: 0, chargeCurrentA: 5 };
    expect(pairConsequences(small, large, empty).limitsCharge).toBeNull();
    // At the end of charge the smaller leads by 0.04 of SOC: 0.5 V × 0.04 = 20 mV against 15 mV.
    expect(pairConsequences(small, large, { ...empty, openCircuitSlopeV: 0.5 }).limitsCharge).toBe(0);
    expect(pairConsequences(small, large, { ...empty, openCircuitSlopeV: 0.3 }).limitsCharge).toBe(1);
  });

  test('nobody knows which cell limits the charge without the resistances, or without the capacities it depends on', () => {
    const [small, large] = [cell({ capacityAh: 2.4 }), cell({ capacityAh: 2.5 })];
    expect(pairConsequences(small, large, { ...use, levelledAtSoc: 0 }).limitsCharge).toBeNull();
    const [low, high] = [cell({ resistanceOhm: 0.02 }), cell({ resistanceOhm: 0.023 })];
    expect(pairConsequences(low, high, { ...use, levelledAtSoc: 0 }).limitsCharge).toBeNull();
    expect(pairConsequences(low, high, { ...use, levelledAtSoc: 1 }).limitsCharge).toBe(1);
  });

  test('spread after cycles adds the slopes to the difference of today', () => {
    const found = pairConsequences(
      cell({
        capacityAh: 2.5,
        resistanceOhm: 0.02,
        capacityFadeAhPerCycle: 2e-4,
        resistanceRiseOhmPerCycle: 1e-5,
      }),
      cell({
        capacityAh: 2.48,
        resistanceOhm: 0.021,
        capacityFadeAhPerCycle: 3e-4,
        resistanceRiseOhmPerCycle: 1e-5,
      }),
      { ...use, cycles: 300 },
    );
    expect(found.capacitySpreadAfterCyclesAh).toBeCloseTo(0.05, 12);
    expect(found.resistanceSpreadAfterCyclesOhm).toBeCloseTo(0.001, 12);
  });

  test('what was not measured stays unknown', () => {
    expect(Object.values(pairConsequences(cell({}), cell({}), use)).every((value) => value === null)).toBe(
      true,
    );
  });
});

// Derived by hand.
describe('groupConsequences', () => {
  const three = [
    cell({ capacityAh: 2.5, resistanceOhm: 0.02, voltageDriftVPerDay: 1e-5 }),
    cell({ capacityAh: 2.4, resistanceOhm: 0.022, voltageDriftVPerDay: 4e-5 }),
    cell({ capacityAh: 2.6, resistanceOhm: 0.021, voltageDriftVPerDay: 2e-5 }),
  ];

  test('takes the usable capacity of all and the largest difference between any two', () => {
    const found = groupConsequences(three, { ...use, chargeCurrentA: 5, openCircuitSlopeV: 1 });
    expect(found).toMatchObject({ usableCapacityAh: 2.4, limitsDischarge: 1, limitsCharge: 1 });
    expect(found.capacityLossAh).toBeCloseTo(0.1, 12);
    expect(found.voltageDifferenceV).toBeCloseTo(0.01, 12);
    // 4e-5 V/d over 1 V per unit of SOC in 2.4 Ah, less 1e-5 in 2.5 Ah.
    expect(found.bypassChargePerCycleAh).toBeCloseTo(9.6e-5 - 2.5e-5, 12);
  });

  test('names no cell where two limit alike, and gives nothing that one cell lacks', () => {
    const alike = [three[0], three[1], three[1]];
    expect(groupConsequences(alike, { ...use, chargeCurrentA: 5 })).toMatchObject({
      limitsCharge: null,
      limitsDischarge: null,
      usableCapacityAh: 2.4,
    });
    const lacking = groupConsequences([...three, cell({ resistanceOhm: 0.02 })], {
      ...use,
      chargeCurrentA: 5,
    });
    expect(lacking).toMatchObject({
      usableCapacityAh: null,
      limitsDischarge: null,
      bypassChargePerCycleAh: null,
    });
    expect(lacking.voltageDifferenceV).toBeCloseTo(0.01, 12);
  });
});
