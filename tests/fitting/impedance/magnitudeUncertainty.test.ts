import { describe, expect, it } from 'vitest';
import { impedanceAt } from '../../../fitting/impedance/impedanceAt.ts';
import { circuitImpedance } from '../../../fitting/impedance/impedanceCircuit.ts';
import { checkKramersKronig } from '../../../fitting/impedance/kramersKronig.ts';
import { magnitudeUncertainty, scatterNear } from '../../../fitting/impedance/magnitudeUncertainty.ts';
import { normalSource, seededRandom } from '../../../fitting/statistics/random.ts';
import { logFrequencies, powerCell, spectrumOf } from './syntheticSpectrum.ts';

describe('the uncertainty of |Z| from the scatter of its neighbours', () => {
  it.each([
    ['short', 6000, 50, 6],
    ['usual', 10_000, 0.01, 8],
  ] as const)(
    'is, root mean square over many %s spectra, the scatter they have, however much the chain follows',
    (_, high, low, perDecade) => {
      const normal = normalSource(seededRandom(77));
      const scatter = 0.004;
      const frequencies = logFrequencies(high, low, perDecade);
      let squares = 0;
      for (let k = 0; k < 120; k++) {
        const checked = checkKramersKronig(spectrumOf(powerCell, frequencies, scatter, normal));
        squares += (scatterNear(checked, 1000)?.fraction ?? Number.NaN) ** 2;
      }
      const ratio = Math.sqrt(squares / 120) / scatter;
      expect(ratio).toBeGreaterThan(0.95);
      expect(ratio).toBeLessThan(1.12);
    },
  );

  it('holds |Z| in 95 % of the spectra, also where it comes from few points', () => {
    const normal = normalSource(seededRandom(78));
    const frequencies = logFrequencies(5000, 0.1, 5);
    const truth = circuitImpedance(powerCell, [1000]);
    const magnitude = Math.hypot(truth.realOhm[0], truth.imaginaryOhm[0]);
    let held = 0;
    for (let k = 0; k < 300; k++) {
      const spectrum = spectrumOf(powerCell, frequencies, 0.003, normal);
      const at = impedanceAt(spectrum, 1000);
      const u = magnitudeUncertainty(checkKramersKronig(spectrum), 1000, magnitude);
      const all = Math.hypot(u ?? Number.NaN, at.interpolationOhm ?? Number.NaN);
      if (Math.abs((at.magnitudeOhm ?? Number.NaN) - magnitude) <= 1.96 * all) held++;
    }
    expect(held / 300).toBeGreaterThan(0.92);
  });

  it('is missing where fewer than four points are near, or the check said nothing', () => {
    const sparse = checkKramersKronig(spectrumOf(powerCell, logFrequencies(10_000, 0.01, 3)));
    expect(magnitudeUncertainty(sparse, 1000, 1)).toBeNull();
    const few = checkKramersKronig(spectrumOf(powerCell, logFrequencies(2000, 500, 8)));
    expect(few.verdict).toBe('too-few-points');
    expect(magnitudeUncertainty(few, 1000, 1)).toBeNull();
  });
});
