import { describe, expect, it } from 'vitest';
import { temperatureFactor } from '../../fitting/resistance/temperatureDependence.ts';

describe('resistance against temperature (Arrhenius, worked factors)', () => {
  it.each([
    [20_000, 2.0926, 0.6022],
    [25_000, 2.5169, 0.5305],
    [30_000, 3.0271, 0.4673],
    [40_000, 4.379, 0.3626],
  ])('%i J/mol: factor %d from 25 to 0 °C and %d from 25 to 45 °C', (energy, cold, hot) => {
    expect(temperatureFactor(energy, 25, 0)).toBeCloseTo(cold, 4);
    expect(temperatureFactor(energy, 25, 45)).toBeCloseTo(hot, 4);
  });
});
