import { describe, expect, it } from 'vitest';
import { limitCrossing } from '../../fitting/ageing/limitCrossing.ts';
import { ageingPoints } from '../../fitting/ageing/points.ts';
import { fitPower } from '../../fitting/ageing/powerLaw.ts';
import {
  schmalstiegRates,
  schmalstiegState,
  wangHalfRateLossPercent,
  wangLossPercent,
  wangThroughputAh,
} from '../support/ageing/publishedLaws.ts';
import { lossByVirtualAge } from '../support/ageing/virtualAge.ts';

describe('the capacity loss of a lithium iron phosphate cell', () => {
  // J. Wang et al., J. Power Sources 196 (2011) 3942-3948, doi:10.1016/j.jpowsour.2010.11.134, R = 8.314.
  it.each([
    [0.5, 298.15, 4.252351, 16693.486],
    [0.5, 318.15, 9.45644, 3903.541],
    [2, 298.15, 3.646912, 22071.24],
    [6, 298.15, 3.95447, 19049.957],
    [10, 298.15, 8.620504, 4618.921],
  ])('at %d C and %d K is the published one', (rateC, temperatureK, lossPercent, throughputAh) => {
    expect(wangLossPercent({ rateC, temperatureK }, 1000)).toBeCloseTo(lossPercent, 6);
    expect(wangThroughputAh({ rateC, temperatureK }, 20)).toBeCloseTo(throughputAh, 3);
  });

  it('by the fit to the C/2 data alone is the published one', () => {
    expect(wangHalfRateLossPercent(298.15, 1000)).toBeCloseTo(4.159145, 6);
  });

  it('is smaller at 2 C than at C/2 for equal throughput, as published, and is not continued beyond 10 C', () => {
    const at = (rateC: number) => wangLossPercent({ rateC, temperatureK: 298.15 }, 1000);
    expect(at(2)).toBeLessThan(at(0.5));
    expect(() => at(12)).toThrow(/rateC must lie between 0.5 and 10/);
  });
});

describe('the ageing of a nickel manganese cobalt oxide cell', () => {
  // J. Schmalstieg et al., J. Power Sources 257 (2014) 325-334, doi:10.1016/j.jpowsour.2014.02.012.
  const storage = { voltageV: 3.7, temperatureK: 308.15, meanVoltageV: 3.7, cycleDepth: 0 };
  const cycling = { ...storage, cycleDepth: 0.8 };

  it('in storage for a year is the published one', () => {
    expect(schmalstiegRates(storage).alphaCapacity).toBeCloseTo(6.127729e-4, 10);
    expect(schmalstiegRates(storage).alphaResistance).toBeCloseTo(1.163745e-3, 9);
    const state = schmalstiegState(storage, 365, 0);
    expect(state.capacity).toBeCloseTo(0.9488296, 7);
    expect(state.resistance).toBeCloseTo(1.0971801, 7);
  });

  it('after 1000 Ah at 80 % depth is the published one', () => {
    expect(schmalstiegRates(cycling).betaCapacity).toBeCloseTo(4.032802e-3, 9);
    expect(schmalstiegRates(cycling).betaResistance).toBeCloseTo(2.087646e-4, 10);
    const state = schmalstiegState(cycling, 365, 1000);
    expect(state.capacity).toBeCloseTo(0.8213012, 7);
    expect(state.resistance).toBeCloseTo(1.3059447, 7);
  });

  it('in storage reaches 80 % after 2247.19 days', () => {
    const { alphaCapacity } = schmalstiegRates(storage);
    expect((0.2 / alphaCapacity) ** (1 / 0.75)).toBeCloseTo(2247.19, 2);
  });

  it('reaches 80 % of capacity and twice the resistance at two dates, and both are found', () => {
    // Schmalstieg et al. 2014 use both criteria together: the earlier one ends life.
    const days = Float64Array.from({ length: 4000 }, (_, day) => day);
    const states = Array.from(days, (day) => schmalstiegState(cycling, day, 3 * day));
    const capacity = limitCrossing(
      days,
      Float64Array.from(states, (s) => s.capacity),
      0.8,
      'below',
    );
    const resistance = limitCrossing(
      days,
      Float64Array.from(states, (s) => s.resistance),
      2,
      'above',
    );
    const capacityDay = capacity.crossedAt ?? Number.NaN;
    const resistanceDay = resistance.crossedAt ?? Number.NaN;
    expect(schmalstiegState(cycling, capacityDay, 3 * capacityDay).capacity).toBeLessThan(0.8);
    expect(schmalstiegState(cycling, capacityDay - 1, 3 * (capacityDay - 1)).capacity).toBeGreaterThanOrEqual(
      0.8,
    );
    expect(capacityDay).toBeLessThan(resistanceDay);
  });
});

describe('square-root growth', () => {
  // Parabolic law of film growth; k = 0.005 per square root of a day (worked out, exact).
  const days = Float64Array.from({ length: 400 }, (_, i) => i + 1);

  it('gives 0.0955249 after 365 days and 20 % after 1600 days', () => {
    expect(0.005 * Math.sqrt(365)).toBeCloseTo(0.0955249, 7);
    const [loss] = lossByVirtualAge([{ factor: 0.005, duration: 1600 }], 0.5);
    expect(loss).toBeCloseTo(0.2, 12);
  });

  it('returns the exponent 0.5 from noise-free data', () => {
    const law = fitPower(
      ageingPoints(
        days,
        days.map((day) => 0.005 * Math.sqrt(day)),
      ),
    );
    expect(law.parameter('exponent')).toBeCloseTo(0.5, 9);
    expect(law.parameter('coefficient')).toBeCloseTo(0.005, 9);
    expect(law.parameter('initial')).toBeCloseTo(0, 9);
  });
});

describe('virtual age', () => {
  it('makes a sequence of one condition equal to that condition throughout', () => {
    const condition = { rateC: 2, temperatureK: 298.15 };
    const factor = wangLossPercent(condition, 1);
    const parts = lossByVirtualAge(
      [300, 500, 200].map((duration) => ({ factor, duration })),
      0.55,
    );
    expect(parts[2]).toBeCloseTo(wangLossPercent(condition, 1000), 10);
    // Adding the powers of the parts would overstate the loss.
    const added = [300, 500, 200].reduce(
      (sum, throughput) => sum + wangLossPercent(condition, throughput),
      0,
    );
    expect(added).toBeGreaterThan(1.3 * parts[2]);
  });

  it('goes on from the equivalent age when the temperature changes', () => {
    const cool = { rateC: 0.5, temperatureK: 298.15 };
    const warm = { rateC: 0.5, temperatureK: 318.15 };
    const [first, second] = lossByVirtualAge(
      [
        { factor: wangLossPercent(cool, 1), duration: 1000 },
        { factor: wangLossPercent(warm, 1), duration: 1000 },
      ],
      0.55,
    );
    expect(first).toBeCloseTo(4.252351, 6);
    // The warm condition would have made 4.252351 % after this throughput (solved for by hand).
    const equivalent = wangThroughputAh(warm, first);
    expect(second).toBeCloseTo(wangLossPercent(warm, equivalent + 1000), 10);
  });
});
