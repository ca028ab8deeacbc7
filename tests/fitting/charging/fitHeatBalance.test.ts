import { describe, expect, it } from 'vitest';
import { fitHeatBalance } from '../../../fitting/charging/fitHeatBalance.ts';
import { heatGenerationW, lumpedTemperatureC } from '../../../fitting/charging/heat.ts';
import { simulateCharge } from '../../../fitting/charging/simulateCharge.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { charged, linearCell, setupOf } from './builders.ts';

const body = { heatCapacityJPerK: 47.5, heatTransferWPerK: 0.0418 };

/** A simulated charge as a bench would record it, with the heat computed from voltage and OCV. */
function record(noiseK: number) {
  const cell = charged(linearCell(2.5, 0.05, { thermal: body }), 0.1);
  const { series } = simulateCharge(setupOf([cell], { seriesStepS: 5 }));
  if (series === null) throw new Error('no series');
  const [c] = series.cells;
  const noise = normalSource(seededRandom(3));
  const heat = c.voltageV.map((v, k) =>
    heatGenerationW(c.currentA[k], v, 3.4 + 0.8 * c.soc[k], c.temperatureC[k], 0),
  );
  return {
    timeS: Float64Array.from(series.timeS),
    temperatureC: Float64Array.from(c.temperatureC, (t) => t + noiseK * noise()),
    heatW: Float64Array.from(heat),
    ambientC: 25,
  };
}

describe('the heat balance from a record', () => {
  it('gives back the heat capacity and heat transfer of a simulated charge', () => {
    const fit = fitHeatBalance(record(0));
    expect(fit.reason).toBeNull();
    expect(fit.heatCapacityJPerK).toBeCloseTo(47.5, 2);
    expect(fit.heatTransferWPerK).toBeCloseTo(0.0418, 5);
  });

  it('stays within a few percent with a thermometer that scatters by 0.1 K', () => {
    const fit = fitHeatBalance(record(0.1));
    expect(Math.abs((fit.heatCapacityJPerK ?? 0) / 47.5 - 1)).toBeLessThan(0.03);
    expect(Math.abs((fit.heatTransferWPerK ?? 0) / 0.0418 - 1)).toBeLessThan(0.03);
    expect(fit.residualSdK).toBeGreaterThan(0.05);
    expect(fit.residualSdK).toBeLessThan(0.2);
  });

  it('agrees with the exact warming under a constant heat', () => {
    const timeS = Float64Array.from({ length: 361 }, (_, k) => 10 * k);
    const temperatureC = timeS.map((t) => lumpedTemperatureC(body, 0.3125, 25, 25, t));
    const fit = fitHeatBalance({
      timeS,
      temperatureC,
      heatW: new Float64Array(361).fill(0.3125),
      ambientC: 25,
    });
    expect(fit.heatCapacityJPerK).toBeCloseTo(47.5, 3);
    expect(fit.heatTransferWPerK).toBeCloseTo(0.0418, 6);
  });

  it('gives no values where they cannot be told, and says why', () => {
    const timeS = Float64Array.from({ length: 50 }, (_, k) => k);
    const still = new Float64Array(50).fill(25);
    const none = new Float64Array(50);
    expect(fitHeatBalance({ timeS, temperatureC: still, heatW: none, ambientC: 25 }).reason).toBe(
      'too-little-warming',
    );
    const cooling = timeS.map((t) => 35 - 0.1 * t);
    const heat = new Float64Array(50).fill(5);
    expect(fitHeatBalance({ timeS, temperatureC: cooling, heatW: heat, ambientC: 50 }).reason).toBe(
      'not-physical',
    );
  });

  it('refuses columns that do not belong together', () => {
    const timeS = Float64Array.from({ length: 12 }, (_, k) => k);
    const column = new Float64Array(12);
    expect(() =>
      fitHeatBalance({ timeS, temperatureC: column, heatW: new Float64Array(3), ambientC: 25 }),
    ).toThrow('heatW 3');
    const back = timeS.slice();
    back[5] = 2;
    expect(() => fitHeatBalance({ timeS: back, temperatureC: column, heatW: column, ambientC: 25 })).toThrow(
      'timeS[5] is 2, not above 4 before it',
    );
  });
});
