import { describe, expect, it } from 'vitest';
import { hottest } from '../../../fitting/charging/chargeRates.ts';
import { monteCarlo } from '../../../fitting/charging/monteCarlo.ts';
import { type RateSearchOptions, searchRate } from '../../../fitting/charging/rateSearch.ts';
import { rateTable } from '../../../fitting/charging/rateTable.ts';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { proposeStages } from '../../../fitting/charging/stagedProfile.ts';
import { seededRandom } from '../../../fitting/statistics/random.ts';
import { branch, charged, linearCell, row, setupOf } from './builders.ts';

const thermal = { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 };
/** Resistance higher when empty, so that where heat is made matters. */
const warmCell = (overrides = {}) =>
  charged(
    linearCell(2.5, 0.04, {
      soc: row(0, 0.3, 1),
      ocv: { kind: 'table', values: row(3.4, 3.64, 4.2), interpolation: 'linear' },
      r0Ohm: row(0.09, 0.03, 0.03),
      branches: [branch(0.01, 30, 3)],
      thermal,
    }),
    0.05,
    { ratedCurrentA: 7.5, minTemperatureC: 0, maxTemperatureC: 60, ...overrides },
  );
const options = (overrides: Partial<RateSearchOptions> = {}): RateSearchOptions => ({
  oneC: 2.5,
  targetSoc: 0.8,
  minRateC: 0.05,
  maxRateC: null,
  limits: { maxTemperatureC: null, minSocAtVoltageLimit: null },
  tradeOffPoints: 0,
  life: null,
  ...overrides,
});

describe('the rate search', () => {
  it('finds the rate whose peak temperature is the limit, and a higher one breaks it', () => {
    const setup = setupOf([warmCell(), warmCell()]);
    const limits = { maxTemperatureC: 35, minSocAtVoltageLimit: null };
    const search = searchRate(setup, options({ limits }));
    expect(search.binding).toBe('temperature');
    expect(search.best?.peakTemperatureC).toBeLessThanOrEqual(35);
    expect(search.best?.peakTemperatureC).toBeGreaterThan(34.98);
    const above = simulateCharge({
      ...setup,
      stages: [{ currentA: (search.best?.currentA ?? 0) * 1.001, until: null }],
    });
    expect(hottest(above)).toBeGreaterThan(35);
    expect(search.simulations).toBeLessThan(50);
  });

  it('agrees with the closed form where the heat has time to settle', () => {
    // One resistance and a charge long against the thermal time constant: ΔT∞ = I² R / K (derived: lumped heat balance in steady state).
    const cell = charged(linearCell(50, 0.05, { thermal }), 0.1, { ratedCurrentA: 50 });
    const limits = { maxTemperatureC: 35, minSocAtVoltageLimit: null };
    const search = searchRate(
      setupOf([cell], { endCurrentA: 0.5 }),
      options({ oneC: 50, minRateC: 0.005, limits }),
    );
    expect(search.best?.currentA).toBeCloseTo(2.891366, 2);
  });

  it('never goes above the datasheet’s rating, and names it', () => {
    const search = searchRate(setupOf([warmCell({ ratedCurrentA: 2 }), warmCell()]), options());
    expect(search.best?.currentA).toBe(2);
    expect(search.binding).toBe('datasheet-rating');
    const asked = searchRate(setupOf([warmCell()]), options({ maxRateC: 0.6 }));
    expect(asked.best?.rateC).toBeCloseTo(0.6, 12);
    expect(asked.binding).toBe('asked-maximum');
    for (const point of searchRate(setupOf([warmCell()]), options({ tradeOffPoints: 6 })).tradeOff)
      expect(point.currentA).toBeLessThanOrEqual(7.5);
  });

  it('outside the temperature window says not to charge, with the reason', () => {
    const cold = searchRate(
      setupOf([warmCell({ startTemperatureC: -5 })], { ambientTemperatureC: -5 }),
      options(),
    );
    expect(cold).toMatchObject({
      best: null,
      binding: 'outside-temperature-window',
      reason: 'below-minimum-temperature',
    });
    const hot = searchRate(
      setupOf([warmCell({ startTemperatureC: 65 })], { ambientTemperatureC: 65 }),
      options(),
    );
    expect(hot).toMatchObject({ best: null, reason: 'above-maximum-temperature' });
  });

  it('says so where even the lowest rate breaks a limit', () => {
    const limits = { maxTemperatureC: 24, minSocAtVoltageLimit: null };
    const search = searchRate(setupOf([warmCell()]), options({ limits }));
    expect(search).toMatchObject({
      best: null,
      binding: 'none-feasible',
      reason: 'limits-broken-at-lowest-rate',
    });
  });

  it('keeps a wanted SOC at the voltage limit', () => {
    const limits = { maxTemperatureC: null, minSocAtVoltageLimit: 0.9 };
    const search = searchRate(setupOf([warmCell()]), options({ limits }));
    expect(search.binding).toBe('soc-at-voltage-limit');
    // 0.9 at 4.2 V: OCV(0.9) + I (R0 + R1) = 4.2 with both settled.
    expect(search.best?.currentA).toBeCloseTo((4.2 - (3.64 + (0.6 / 0.7) * 0.56)) / 0.04, 2);
  });

  it('shows what a rate costs: shorter, warmer, more lost, and fewer cycles by the given law', () => {
    const life = (rateC: number, peakC: number) => 1000 * rateC ** -0.5 * Math.exp(-0.02 * (peakC - 25));
    const { tradeOff } = searchRate(setupOf([warmCell()]), options({ tradeOffPoints: 6, life }));
    expect(tradeOff).toHaveLength(6);
    tradeOff.slice(1).forEach((point, k) => {
      expect(point.rateC).toBeGreaterThan(tradeOff[k].rateC);
      expect(point.targetTimeS ?? 0).toBeLessThan(tradeOff[k].targetTimeS ?? 0);
      expect(point.lossWh).toBeGreaterThan(tradeOff[k].lossWh);
      expect(point.lifeCycles ?? 0).toBeLessThan(tradeOff[k].lifeCycles ?? 0);
    });
  });
});

describe('the staged profile', () => {
  it('reaches the target sooner than the best single rate, within the same limits', () => {
    const setup = setupOf([warmCell(), warmCell()]);
    const profile = proposeStages(setup, { oneC: 2.5, stages: 4, targetSoc: 0.8, maxTemperatureC: 35 });
    expect(profile.sameAsSingleRate).toBe(false);
    expect(profile.targetTimeS ?? 1e9).toBeLessThan(profile.single.best?.targetTimeS ?? 0);
    expect(profile.peakTemperatureC ?? 99).toBeLessThanOrEqual(35);
    for (const stage of profile.stages) expect(stage.currentA).toBeLessThanOrEqual(7.5);
    // The figures are those of a charge with these stages.
    const again = simulateCharge({
      ...setup,
      timesAtSoc: [0.8],
      stages: profile.stages.map(({ currentA, untilSoc }) => ({
        currentA,
        until:
          untilSoc === null
            ? null
            : { soc: untilSoc, cellVoltageV: null, temperatureC: null, durationS: null },
      })),
    });
    expect(again.timesS[0]).toBeCloseTo(profile.targetTimeS ?? 0, 9);
  });

  it('proposes the single rate where the rating alone binds', () => {
    const profile = proposeStages(setupOf([warmCell({ ratedCurrentA: 1.25 })]), {
      oneC: 2.5,
      stages: 3,
      targetSoc: 0.8,
      maxTemperatureC: null,
    });
    expect(profile.sameAsSingleRate).toBe(true);
    expect(profile.stages).toEqual([{ currentA: 1.25, untilSoc: null }]);
    expect(profile.targetTimeS).toBe(profile.single.best?.targetTimeS);
  });
});

describe('the spread by Monte Carlo', () => {
  const none = {
    capacityRelative: 0,
    r0Relative: 0,
    branchRelative: 0,
    r0BranchCorrelation: 0,
    ocvV: 0,
    startSoc: 0,
    startTemperatureK: 0,
    heatCapacityRelative: 0,
    heatTransferRelative: 0,
  };
  const setup = setupOf([charged(linearCell(2.5, 0.05), 0.1)]);

  it('has no spread without uncertainty, and repeats itself for the same seed', () => {
    const still = monteCarlo(setup, [none], { draws: 20, level: 0.9, random: seededRandom(3) });
    expect(still.endTimeS.standardDeviation).toBeLessThan(1e-9);
    const one = { ...none, capacityRelative: 0.02, r0Relative: 0.1 };
    const run = () => monteCarlo(setup, [one], { draws: 50, level: 0.9, random: seededRandom(3) });
    expect(run()).toEqual(run());
  });

  it('agrees with the exact scaling of the charge time by the capacity', () => {
    // Both parts of a charge of one cell with a resistance are proportional to its capacity (derived from the exact solution).
    const random = seededRandom(5);
    const spread = monteCarlo(setup, [{ ...none, capacityRelative: 0.02 }], {
      draws: 2000,
      level: 0.95,
      random,
    });
    const exact = 2677.5 + 1685.099404;
    const standardError = (0.02 * exact) / Math.sqrt(2000);
    expect(Math.abs(spread.endTimeS.mean - exact)).toBeLessThan(4 * standardError);
    expect(spread.endTimeS.standardDeviation / exact).toBeCloseTo(0.02, 2);
    expect((spread.endTimeS.high - spread.endTimeS.low) / exact).toBeCloseTo(2 * 1.96 * 0.02, 2);
    expect(spread.targetTimesS[2]).toBeNull();
  });

  it('counts draws whose parameters leave their range, and can be stopped', () => {
    const wild = monteCarlo(setup, [{ ...none, r0Relative: 0.6 }], {
      draws: 200,
      level: 0.95,
      random: seededRandom(1),
    });
    expect(wild.refused).toBeGreaterThan(0);
    expect(wild.draws).toBe(200);
    const stopped = monteCarlo(setup, [none], {
      draws: 500,
      level: 0.95,
      random: seededRandom(1),
      progress: (done) => done < 30,
    });
    expect(stopped.draws).toBe(30);
    expect(() => monteCarlo(setup, [], { draws: 10, level: 0.95, random: seededRandom(1) })).toThrow(
      '0 uncertainties for 1 cells',
    );
  });
});

describe('the table of rates', () => {
  it('falls with the growth of the resistances and is empty outside the window', () => {
    const limits = { maxTemperatureC: 45, minSocAtVoltageLimit: null };
    const table = rateTable(setupOf([warmCell()]), [-5, 25, 40], [0, 0.5, 1], 2.5, limits);
    expect(table).toHaveLength(9);
    for (const entry of table.filter((e) => e.temperatureC === -5))
      expect(entry).toMatchObject({ rateC: null, binding: 'outside-temperature-window' });
    for (const temperature of [25, 40]) {
      const rates = table.filter((e) => e.temperatureC === temperature).map((e) => e.rateC ?? 0);
      expect(rates[0]).toBeGreaterThanOrEqual(rates[1]);
      expect(rates[1]).toBeGreaterThanOrEqual(rates[2]);
      for (const rate of rates) expect(rate).toBeLessThanOrEqual(3);
    }
    expect(table[6].rateC ?? 0).toBeLessThan(table[3].rateC ?? 0);
  });
});
