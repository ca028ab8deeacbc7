import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { schmalstiegAgeing, wangLoss } from '../../fitting/ageing/publishedLaws.ts';
import { sharedIsMissing, sharedPath } from '../support/required.ts';

// Sources: the two papers named in the reference file, with values worked out from their printed laws.
const absent = sharedIsMissing('reference/fade_reference.json');
const reference = absent
  ? null
  : JSON.parse(readFileSync(sharedPath('reference/fade_reference.json'), 'utf8'));

describe.skipIf(absent)('published laws of ageing', () => {
  it('LFP by cycling: the loss at 1000 Ah at every printed rate and temperature, and where it reaches 20 %', () => {
    for (const { cRate, T_K, lossPercentAt1000Ah, AhAt20percentLoss } of reference.wang2011.check) {
      expect(100 * wangLoss(cRate, T_K - 273.15, 1000)).toBeCloseTo(lossPercentAt1000Ah, 6);
      expect(wangLoss(cRate, T_K - 273.15, AhAt20percentLoss)).toBeCloseTo(0.2, 6);
    }
  });

  it('LFP by cycling: refuses a rate it has no factor for', () => {
    expect(() => wangLoss(1, 25, 1000)).toThrow(/rates 0.5, 2, 6, 10 C, not 1 C/);
  });

  it('NMC by storage and cycling: capacity and resistance after a year', () => {
    for (const { V, T_K, days, Vrms, dDOD, Ah, relativeCapacity, relativeResistance } of reference
      .schmalstieg2014.check) {
      const { capacityLoss, resistanceGrowth } = schmalstiegAgeing(
        { temperatureC: T_K - 273.15, storageVoltageV: V, cyclingVoltageV: Vrms, depthOfDischarge: dDOD },
        days,
        Ah,
      );
      expect(1 - capacityLoss).toBeCloseTo(relativeCapacity, 8);
      expect(1 + resistanceGrowth).toBeCloseTo(relativeResistance, 8);
    }
  });
});
