import { describe, expect, it } from 'vitest';
import { allowForCommonTemperature } from '../../../fitting/resistance/commonTemperature.ts';
import { temperatureFactor } from '../../../fitting/resistance/temperatureDependence.ts';
import {
  type CellResistanceAtTemperature,
  fitTemperatureOfCells,
} from '../../../fitting/resistance/temperatureOfCells.ts';
import { tQuantile } from '../../../fitting/statistics/index.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';

const ENERGY = 30_000;

/** Cells of one kind in a chamber whose temperature is off by its own amount at each setting. */
function inChamber(seed: number, cells: number, settings: readonly number[], chamberC: number) {
  const normal = normalSource(seededRandom(seed));
  const off = settings.map(() => chamberC * normal());
  return Array.from({ length: cells }, (_, cell): CellResistanceAtTemperature[] => {
    const level = 0.03 * Math.exp(0.03 * normal());
    return settings.map((temperatureC, k) => ({
      cell,
      temperatureC,
      valueOhm: level * temperatureFactor(ENERGY, 25, temperatureC + off[k]) * Math.exp(0.005 * normal()),
    }));
  }).flat();
}

function heldShare(cells: number, settings: readonly number[], chamberC: number, isAllowed: boolean): number {
  const tries = 200;
  let held = 0;
  for (let seed = 1; seed <= tries; seed++) {
    const points = inChamber(seed, cells, settings, chamberC);
    const own = fitTemperatureOfCells(points);
    if (own === null) throw new Error('no law');
    const fit = isAllowed ? allowForCommonTemperature(own, points, true) : own;
    const reach = tQuantile(0.975, fit.degreesOfFreedom) * (fit.activationStandardErrorJPerMol ?? 0);
    if (Math.abs(fit.activationJPerMol - ENERGY) <= reach) held++;
  }
  return held / tries;
}

describe('allowForCommonTemperature(fit, points, ownLevels)', () => {
  it.each([
    [4, [0, 25]],
    [24, [0, 25, 45]],
    [24, [-10, 0, 10, 25, 45]],
  ])('holds the energy of %s cells at %s °C in a chamber that is off', (cells, settings) => {
    expect(heldShare(cells, settings, 0.7, false)).toBeLessThan(0.7);
    for (const chamberC of [0, 0.7, 1])
      expect(heldShare(cells, settings, chamberC, true)).toBeGreaterThan(0.87);
  });

  it('finds a common error that is larger than usual, and keeps what the scatter alone gives', () => {
    const settings = [-10, 0, 10, 25, 35, 45];
    const points = inChamber(3, 24, settings, 4);
    const own = fitTemperatureOfCells(points);
    if (own === null) throw new Error('no law');
    const fit = allowForCommonTemperature(own, points, true);
    expect(fit.temperatureErrorC).toBeGreaterThan(1);
    expect(fit.activationJPerMol).toBe(own.activationJPerMol);
    expect(fit.activationStandardErrorJPerMol).toBeGreaterThan(own.activationStandardErrorJPerMol ?? 0);
    expect(fit.degreesOfFreedom).toBeLessThan(own.degreesOfFreedom);
  });
});
