import { describe, expect, it } from 'vitest';
import { capacityUncertainty } from '../../../fitting/capacity/capacityUncertainty.ts';
import { findRuns } from '../../../fitting/capacity/findRuns.ts';
import { dischargeCapacity } from '../../../fitting/capacity/runCapacity.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

/** A discharge at 1 A whose voltage falls by 10 mV a minute, read with noise every 10 s. */
function noisyDischarge(seed: number, noiseV: number) {
  const normal = normalSource(seededRandom(seed));
  const n = 400;
  const timeS = Float64Array.from({ length: n }, (_, i) => 10 * i);
  const voltageV = timeS.map((t) => 3.5 - (0.01 * t) / 60 + noiseV * normal());
  return { timeS, voltageV, currentA: new Float64Array(n).fill(-1) };
}

describe('capacityUncertainty(record, startRow, crossingRow)', () => {
  it('is the scatter of the capacity over many noisy readings of one discharge, within a factor of 2', () => {
    const capacities: number[] = [];
    const stated: number[] = [];
    for (let seed = 1; seed <= 300; seed++) {
      const record = noisyDischarge(seed, 0.0004);
      const [run] = findRuns(record);
      const found = dischargeCapacity(record, run, 3.0, 'interpolated-crossing');
      capacities.push(found.capacityAh ?? Number.NaN);
      stated.push(capacityUncertainty(record, run.firstLoadedRow, found.crossingRow ?? 0) ?? Number.NaN);
    }
    const mean = capacities.reduce((a, b) => a + b, 0) / capacities.length;
    const scatter = Math.sqrt(capacities.reduce((a, b) => a + (b - mean) ** 2, 0) / (capacities.length - 1));
    const typical = stated.sort((a, b) => a - b)[150];
    expect(typical / scatter).toBeGreaterThan(0.5);
    expect(typical / scatter).toBeLessThan(2);
  });

  it('is null where the voltage does not fall at the crossing', () => {
    const flat = {
      timeS: Float64Array.of(0, 1, 2, 3),
      voltageV: new Float64Array(4).fill(3),
      currentA: new Float64Array(4).fill(-1),
    };
    expect(capacityUncertainty(flat, 0, 3)).toBeNull();
  });
});
