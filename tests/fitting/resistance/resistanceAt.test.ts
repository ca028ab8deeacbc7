import { describe, expect, it } from 'vitest';
import { findPulses } from '../../../fitting/records/pulses.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import { baseVoltage } from '../../../fitting/resistance/baseVoltage.ts';
import { subtractFixture } from '../../../fitting/resistance/fixture.ts';
import { resistanceAt } from '../../../fitting/resistance/resistanceAt.ts';
import { type Part, recordOf } from '../records/recordOf.ts';

const rest: Part = { seconds: 60, currentA: 0, intervalS: 1 };
const noise = { voltageV: 2e-4, currentA: 1e-3 };

function firstPulse(record: ReturnType<typeof recordOf>) {
  const finding = findSteps(record);
  const pulse = findPulses(record, finding)[0];
  return { pulse, base: baseVoltage(record, finding.steps[pulse.baseStep], noise.voltageV, 0) };
}

describe('resistanceAt(record, pulse, base, noise, duration)', () => {
  it('is ΔU over ΔI at the duration, the same for both directions', () => {
    for (const currentA of [-3, 3]) {
      const record = recordOf([rest, { seconds: 10, currentA, intervalS: 0.1 }, rest]);
      const { pulse, base } = firstPulse(record);
      expect(resistanceAt(record, pulse, base, noise, 5).valueOhm).toBeCloseTo(0.03, 12);
    }
  });

  it('divides each reading by the current flowing at that reading', () => {
    const record = recordOf([
      rest,
      { seconds: 10, currentA: -3, intervalS: 0.1, rising: [-1.7, -2.6] },
      rest,
    ]);
    const { pulse, base } = firstPulse(record);
    expect(resistanceAt(record, pulse, base, noise, 0.1).valueOhm).toBeCloseTo(0.03, 12);
  });

  it('gives null with a reason instead of extrapolating', () => {
    const record = recordOf([rest, { seconds: 10, currentA: -3, intervalS: 0.5 }, rest]);
    const { pulse, base } = firstPulse(record);
    const at = (durationS: number) => resistanceAt(record, pulse, base, noise, durationS);
    expect(at(0.1)).toMatchObject({ valueOhm: null, reason: 'sampling-too-coarse' });
    expect(at(18)).toMatchObject({ valueOhm: null, reason: 'pulse-too-short' });
    expect(at(10).reason).toBeNull();
  });

  it('says that the current had not settled, or that the voltage moved the wrong way', () => {
    const slow = recordOf([rest, { seconds: 10, currentA: -3, intervalS: 0.1, rising: [-0.4, -0.5] }, rest]);
    const early = firstPulse(slow);
    expect(resistanceAt(slow, early.pulse, early.base, noise, 0.1).reason).toBe('current-not-settled');
    const wrong = recordOf([rest, { seconds: 10, currentA: -3, intervalS: 0.1 }, rest], { ohm: -0.03 });
    const turned = firstPulse(wrong);
    expect(resistanceAt(wrong, turned.pulse, turned.base, noise, 5).reason).toBe('wrong-sign');
  });

  it('covers the truth with its stated uncertainty', () => {
    let covered = 0;
    const runs = 400;
    for (let seed = 1; seed <= runs; seed++) {
      const record = recordOf([rest, { seconds: 10, currentA: -3, intervalS: 0.1 }, rest], {
        noiseV: 2e-4,
        noiseA: 1e-3,
        seed,
      });
      const { pulse, base } = firstPulse(record);
      const found = resistanceAt(record, pulse, base, noise, 5);
      const deviation = Math.abs((found.valueOhm as number) - 0.03);
      if (deviation <= 1.96 * (found.standardUncertaintyOhm as number)) covered++;
    }
    expect(covered / runs).toBeGreaterThan(0.92);
    expect(covered / runs).toBeLessThan(0.99);
  });

  it('counts a drift before the step as uncertainty', () => {
    const record = recordOf([rest, { seconds: 10, currentA: -3, intervalS: 0.1 }, rest]);
    const still = firstPulse(record);
    for (let i = 0; i < record.voltageV.length; i++) record.voltageV[i] -= 1e-3 * record.timeS[i];
    const drifting = firstPulse(record);
    const u = (one: typeof still) =>
      resistanceAt(record, one.pulse, one.base, noise, 10).standardUncertaintyOhm as number;
    expect(drifting.base.driftVPerS).toBeCloseTo(-1e-3, 9);
    expect(u(drifting)).toBeGreaterThan(u(still));
    expect(u(drifting)).toBeGreaterThan((1e-3 * 10) / 3 / Math.sqrt(3));
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
