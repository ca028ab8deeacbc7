import { describe, expect, it } from 'vitest';
import { estimateOf } from '../../fitting/least-squares/types.ts';
import { leakageCurrent } from '../../fitting/open-circuit/restDrift.ts';
import { type CombinedConstants, combinedOcv, fitCombined } from './combinedModel.ts';

describe('combined OCV model, Plett, J. Power Sources 134 (2004) 262', () => {
  const constants: CombinedConstants = [3.6, 0.004, -0.62, 0.02, -0.008];
  const soc = [0.05, 0.2, 0.5, 0.8, 0.95];

  it('has the worked values', () => {
    [3.491496, 3.673596, 3.893682, 4.099413, 4.207729].forEach((expected, i) => {
      expect(combinedOcv(constants, soc[i])).toBeCloseTo(expected, 6);
    });
  });

  it('returns the constants from these five points', () => {
    const fit = fitCombined(
      soc,
      soc.map((z) => combinedOcv(constants, z)),
    );
    constants.forEach((constant, i) => {
      expect(estimateOf(fit, `K${i}`).value).toBeCloseTo(constant, 9);
    });
  });

  it('is finite at the ends, where it is not defined', () => {
    expect(Number.isFinite(combinedOcv(constants, 0))).toBe(true);
    expect(Number.isFinite(combinedOcv(constants, 1))).toBe(true);
    expect(() => fitCombined([0.1, 0.2], [3, 3.1])).toThrow(/Five constants/);
  });
});

describe('self-discharge by the K value (worked arithmetic)', () => {
  it('4.1385 to 4.1361 V over 14 days is 0.171429 mV a day, 19.841 µA at 0.9 V and 2.5 Ah', () => {
    const drift = (1000 * (4.1361 - 4.1385)) / 14;
    expect(drift).toBeCloseTo(-0.171429, 6);
    expect((leakageCurrent(drift, 0.9, 2.5) as number) * 1e6).toBeCloseTo(19.841, 3);
  });
});
