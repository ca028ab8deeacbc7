import { describe, expect, it } from 'vitest';
import { fitPulses } from '../../../fitting/circuit/fit/fitPulses.ts';
import { findPulses } from '../../../fitting/records/pulses.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import { subtractFixture } from '../../../fitting/resistance/fixture.ts';
import { pulseReading } from '../../../fitting/resistance/pulseReading.ts';
import { firstResistance, resistanceAt } from '../../../fitting/resistance/resistanceAt.ts';
import { type Part, recordOf } from '../records/recordOf.ts';

const rest: Part = { seconds: 60, currentA: 0, intervalS: 1 };
const load: Part = { seconds: 10, currentA: -3, intervalS: 0.1 };
const noisy = { noiseV: 2e-4, noiseA: 1e-3 };

function firstPulse(record: ReturnType<typeof recordOf>) {
  const finding = findSteps(record);
  const pulses = findPulses(record, finding);
  const { circuits, deadS } = fitPulses(record, finding, pulses, 3);
  return pulseReading(record, finding, pulses[0], circuits[0], deadS);
}

describe('resistanceAt(reading, duration)', () => {
  it('is ΔU over ΔI at the duration, the same for both directions', () => {
    for (const currentA of [-3, 3]) {
      const reading = firstPulse(recordOf([rest, { ...load, currentA }, rest]));
      expect(resistanceAt(reading, 5).valueOhm).toBeCloseTo(0.03, 9);
    }
  });

  it('reads no row whose current has not settled, neither at the beginning nor at the end', () => {
    const record = recordOf([rest, { ...load, rising: [-1.7] }, rest], noisy);
    const last = record.timeS.findIndex((t) => t > 69.95);
    record.currentA[last] = -1.2;
    const reading = firstPulse(record);
    expect(resistanceAt(reading, 0.02).reason).not.toBeNull();
    const ten = resistanceAt(reading, 10);
    expect(Math.abs((ten.valueOhm as number) - 0.03)).toBeLessThan(
      3 * (ten.standardUncertaintyOhm as number),
    );
    const first = firstResistance(reading);
    expect(first?.durationS).toBeGreaterThan(0.1);
    expect(first?.valueOhm).toBeCloseTo(0.03, 3);
  });

  it('gives null with a reason instead of extrapolating', () => {
    const reading = firstPulse(recordOf([rest, { ...load, intervalS: 0.5 }, rest]));
    const at = (durationS: number) => resistanceAt(reading, durationS);
    expect(at(0.1)).toMatchObject({ valueOhm: null, reason: 'sampling-too-coarse' });
    expect(at(18)).toMatchObject({ valueOhm: null, reason: 'pulse-too-short' });
    expect(at(10).reason).toBeNull();
  });

  it('says that the voltage moved the wrong way', () => {
    const turned = firstPulse(recordOf([rest, load, rest], { ohm: -0.03 }));
    expect(resistanceAt(turned, 5).reason).toBe('wrong-sign');
  });

  it('covers the truth with its stated uncertainty', () => {
    let covered = 0;
    const runs = 400;
    for (let seed = 1; seed <= runs; seed++) {
      const found = resistanceAt(firstPulse(recordOf([rest, load, rest], { ...noisy, seed })), 5);
      const deviation = Math.abs((found.valueOhm as number) - 0.03);
      if (deviation <= 1.96 * (found.standardUncertaintyOhm as number)) covered++;
    }
    expect(covered / runs).toBeGreaterThan(0.92);
    expect(covered / runs).toBeLessThan(0.99);
  });

  it('takes a drift before the step off, and counts what it leaves open', () => {
    const record = recordOf([rest, load, rest], noisy);
    const still = resistanceAt(firstPulse(record), 10);
    for (let i = 0; i < record.voltageV.length; i++) record.voltageV[i] -= 1e-3 * record.timeS[i];
    const drifting = resistanceAt(firstPulse(record), 10);
    const u = drifting.standardUncertaintyOhm as number;
    expect(Math.abs((drifting.valueOhm as number) - 0.03)).toBeLessThan(3 * u);
    expect(u).toBeGreaterThan(still.standardUncertaintyOhm as number);
  });
});

describe('subtractFixture(measured, fixture)', () => {
  it('takes the contact off and adds the uncertainties in quadrature', () => {
    const clean = subtractFixture(
      { valueOhm: 0.025, standardUncertaintyOhm: 3e-4 },
      { valueOhm: 0.002, standardUncertaintyOhm: 4e-4 },
    );
    expect(clean.valueOhm).toBeCloseTo(0.023, 12);
    expect(clean.standardUncertaintyOhm).toBeCloseTo(5e-4, 12);
    expect(() =>
      subtractFixture(
        { valueOhm: 1, standardUncertaintyOhm: null },
        { valueOhm: -1, standardUncertaintyOhm: null },
      ),
    ).toThrow(/must not be negative/);
  });
});
