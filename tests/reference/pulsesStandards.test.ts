import { describe, expect, it } from 'vitest';
import { fitPulses } from '../../fitting/circuit/fit/fitPulses.ts';
import { findPulses } from '../../fitting/records/pulses.ts';
import type { RecordColumns } from '../../fitting/records/record.ts';
import { findSteps } from '../../fitting/records/steps.ts';
import { baseVoltage } from '../../fitting/resistance/baseVoltage.ts';
import { findTwoLevel } from '../../fitting/resistance/findTwoLevel.ts';
import {
  evaluateIsoProfile,
  ISO_DISCHARGE_TIMES_S,
  isIsoProfile,
} from '../../fitting/resistance/isoProfile.ts';
import { pulseCurrentLimits } from '../../fitting/resistance/pulseCurrentLimit.ts';
import { chargePower, dischargePower, pulseEndResistance } from '../../fitting/resistance/pulsePower.ts';
import { pulseReading } from '../../fitting/resistance/pulseReading.ts';
import { resistanceAt } from '../../fitting/resistance/resistanceAt.ts';
import { twoLevelResistance } from '../../fitting/resistance/twoLevel.ts';

/** R(t) of a circuit of 30 mΩ, (15 mΩ, 5 s) and (20 mΩ, 60 s), the worked example to ISO 12405 times. */
const stepResponse = (t: number): number =>
  0.03 + 0.015 * (1 - Math.exp(-t / 5)) + 0.02 * (1 - Math.exp(-t / 60));

/**
 * Rest, then steps of current at the given levels; the voltage follows the circuit above by superposition. `marked`: a
 * row on both sides of every edge, at the moment of the edge.
 */
function circuitRecord(
  levels: readonly { currentA: number; seconds: number }[],
  marked = false,
): RecordColumns {
  const edges: { atS: number; changeA: number }[] = [];
  const rows: [number, number, number][] = [];
  let now = 5;
  let before = 0;
  for (let k = 0; k <= 50; k++) rows.push([k / 10, 0, 0]);
  levels.forEach(({ currentA, seconds }, level) => {
    edges.push({ atS: now, changeA: currentA - before });
    before = currentA;
    for (let k = marked ? 0 : 1; k <= seconds * 10; k++) rows.push([now + k / 10, currentA, level + 1]);
    now += seconds;
  });
  return {
    timeS: Float64Array.from(rows, (row) => row[0]),
    currentA: Float64Array.from(rows, (row) => row[1]),
    voltageV: Float64Array.from(rows, ([t, , level]) =>
      edges.slice(0, level).reduce((v, { atS, changeA }) => v + changeA * stepResponse(t - atS), 3.8),
    ),
  };
}

/** The pulses of a record, ready for readings. */
function readingsOf(record: RecordColumns) {
  const finding = findSteps(record);
  const pulses = findPulses(record, finding);
  const { circuits, deadS } = fitPulses(record, finding, pulses, 3);
  return {
    finding,
    readings: pulses.map((pulse, k) => pulseReading(record, finding, pulse, circuits[k], deadS)),
  };
}

describe('two-level DC resistance, IEC 61960-3', () => {
  it('reproduces the worked example: 55.0 mΩ with 0.884 mΩ of uncertainty', () => {
    const level = (currentA: number, voltageV: number) => ({
      currentA,
      voltageV,
      standardUncertaintyV: 1e-3,
    });
    const found = twoLevelResistance(level(-0.4, 3.75), level(-2, 3.662));
    expect(found.valueOhm).toBeCloseTo(0.055, 12);
    expect(found.standardUncertaintyOhm).toBeCloseTo(0.884e-3, 6);
    // the sign that currents are counted with does not matter
    expect(twoLevelResistance(level(0.4, 3.75), level(2, 3.662)).valueOhm).toBeCloseTo(0.055, 12);
    expect(twoLevelResistance(level(-0.4, 3.75), level(-0.4, 3.74)).reason).toBe('no-step-in-current');
  });

  it('finds the two levels in a record and reads the second after 1 s', () => {
    const record = circuitRecord([
      { currentA: -0.4, seconds: 10 },
      { currentA: -2, seconds: 2 },
      { currentA: 0, seconds: 20 },
    ]);
    const { finding, readings } = readingsOf(record);
    const [found, ...others] = findTwoLevel(record, finding, readings);
    expect(others).toHaveLength(0);
    const expected = (1.6 * stepResponse(1) + 0.4 * (stepResponse(11) - stepResponse(10))) / 1.6;
    const deviation = Math.abs((found.valueOhm as number) - expected);
    expect(deviation).toBeLessThan(1.96 * (found.standardUncertaintyOhm as number));
    // At the same duration it is above R(t) out of rest: the first level goes on in that second.
    expect(expected).toBeGreaterThan(stepResponse(1));
  });
});

describe('ISO 12405-4 evaluation times', () => {
  const record = circuitRecord([
    { currentA: -10, seconds: 18 },
    { currentA: -7.5, seconds: 102 },
    { currentA: 0, seconds: 40 },
  ]);
  const finding = findSteps(record);
  const [pulse] = findPulses(record, finding);
  const base = baseVoltage(record, finding.steps[pulse.baseStep], 0, 0);

  it('gives the exact R(t) at 0.1, 1, 10, 18 and 30 s', () => {
    const levels = [
      { currentA: -10, seconds: 40 },
      { currentA: 0, seconds: 20 },
    ];
    const [step] = readingsOf(circuitRecord(levels, true)).readings;
    const at = (t: number) => resistanceAt(step, t).valueOhm;
    expect(at(0.1)).toBeCloseTo(0.0303303, 7);
    expect(at(1)).toBeCloseTo(0.0330496, 7);
    expect(at(10)).toBeCloseTo(0.0460403, 7);
    expect(at(18)).toBeCloseTo(0.0497738, 7);
    expect(at(30)).toBeCloseTo(0.0528322, 7);
    const [open] = readingsOf(circuitRecord(levels)).readings;
    for (const t of [0.1, 1, 10, 18, 30]) {
      const { valueOhm, standardUncertaintyOhm } = resistanceAt(open, t);
      expect(Math.abs((valueOhm as number) - stepResponse(t))).toBeLessThan(
        1.96 * (standardUncertaintyOhm as number),
      );
    }
  });

  it('recognises the profile and evaluates all eleven times against the current of the pulse', () => {
    expect(isIsoProfile(record, finding.steps, pulse)).toBe(true);
    const end = finding.steps[pulse.lastStep + 1].end;
    const points = evaluateIsoProfile(record, pulse, base.voltageV, end, ISO_DISCHARGE_TIMES_S);
    expect(points.map((point) => point.reason)).toEqual(new Array(11).fill(null));
    for (const point of points) {
      const step = point.timeS > 18 ? 2.5 * stepResponse(point.timeS - 18) : 0;
      expect(point.valueOhm).toBeCloseTo((10 * stepResponse(point.timeS) - step) / 10, 6);
    }
    expect(points[4].powerW).toBeCloseTo(10 * (3.8 - 10 * stepResponse(18)), 6);
  });
});

describe('pulse power of the HPPC kind, INL/EXT-15-34184', () => {
  it('reproduces the worked example', () => {
    const discharge = pulseEndResistance({ voltageV: 3.7, currentA: 0 }, { voltageV: 3.56, currentA: -4 });
    const charge = pulseEndResistance({ voltageV: 3.69, currentA: 0 }, { voltageV: 3.782, currentA: 3 });
    expect(discharge).toBeCloseTo(0.035, 12);
    expect(charge).toBeCloseTo(0.030667, 6);
    expect(dischargePower(3.7, discharge, 2.7).powerW).toBeCloseTo(77.143, 3);
    expect(chargePower(3.69, charge, 4.2).powerW).toBeCloseTo(69.848, 3);
  });

  it('does not report the unconstrained maximum below the limit, and keeps to it above', () => {
    expect(dischargePower(3.7, 0.035, 2.7).atVoltageV).toBe(2.7);
    const low = dischargePower(3.7, 0.035, 1.5);
    expect(low.atVoltageV).toBe(1.85);
    expect(low.powerW).toBeCloseTo(97.786, 3);
  });

  it('says why there is none', () => {
    expect(dischargePower(2.6, 0.035, 2.7).reason).toBe('ocv-beyond-limit');
    expect(chargePower(4.25, 0.035, 4.2).reason).toBe('ocv-beyond-limit');
    expect(chargePower(null, 0.035, 4.2).reason).toBe('ocv-unknown');
    expect(dischargePower(3.7, null, 2.7).reason).toBe('no-resistance');
    expect(dischargePower(3.7, 0.035, null).reason).toBe('limit-not-given');
  });
});

describe('pulse current limits, Plett, J. Power Sources 134 (2004) 252', () => {
  const input = {
    soc: 0.55,
    socMin: 0.1,
    socMax: 0.95,
    capacityAh: 5,
    durationS: 10,
    chargeEfficiency: 0.995,
    ocvV: 3.7,
    ocvSlopeV: 0.6,
    minVoltageV: 2.8,
    maxVoltageV: 4.2,
    dischargeResistanceOhm: 0.04,
    chargeResistanceOhm: 0.038,
  };

  it('reproduces the worked example with and without the slope of the OCV', () => {
    const { discharge, charge } = pulseCurrentLimits(input);
    expect(discharge.socLimitA).toBeCloseTo(810, 1);
    expect(charge.socLimitA).toBeCloseTo(723.62, 2);
    expect(discharge.voltageLimitA).toBeCloseTo(22.314, 4);
    expect(charge.voltageLimitA).toBeCloseTo(13.044, 4);
    const flat = pulseCurrentLimits({ ...input, ocvSlopeV: 0 });
    expect(flat.discharge.voltageLimitA).toBeCloseTo(22.5, 4);
    expect(flat.charge.voltageLimitA).toBeCloseTo(13.1579, 4);
  });

  it('takes the least, names it, and never goes below 0', () => {
    expect(pulseCurrentLimits({ ...input, chargeRatingA: 5 }).charge).toMatchObject({
      currentA: 5,
      binding: 'rating',
    });
    expect(pulseCurrentLimits({ ...input, soc: 0.97 }).charge).toMatchObject({ currentA: 0, binding: 'soc' });
    expect(pulseCurrentLimits(input).discharge.binding).toBe('voltage');
    expect(() => pulseCurrentLimits({ ...input, capacityAh: 0 })).toThrow(/capacityAh/);
  });
});
