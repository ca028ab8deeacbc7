import { describe, expect, it } from 'vitest';
import { unitArc, unitArcWithDerivatives } from '../../../fitting/impedance/arc.ts';
import { highFrequencyIntercept } from '../../../fitting/impedance/highFrequencyIntercept.ts';
import { impedanceAt } from '../../../fitting/impedance/impedanceAt.ts';
import { circuitImpedance } from '../../../fitting/impedance/impedanceCircuit.ts';
import { checkKramersKronig } from '../../../fitting/impedance/kramersKronig.ts';
import { checkSpectrum, type Spectrum } from '../../../fitting/impedance/spectrum.ts';
import { logFrequencies, powerCell, spectrumOf } from './syntheticSpectrum.ts';

const nothing = { seriesInductanceH: 0, seriesResistanceOhm: 0, arcs: [], diffusionCoefficient: null };

describe('the impedance of a circuit', () => {
  it('is R/2 − jR/2 for R ∥ C at the frequency of its apex, 1/(2πRC)', () => {
    const [r, c] = [0.02, 5];
    const arcs = [{ resistanceOhm: r, timeConstantS: r * c, exponent: 1 }];
    const z = circuitImpedance({ ...nothing, arcs }, [1 / (2 * Math.PI * r * c)]);
    expect(z.realOhm[0]).toBeCloseTo(r / 2, 15);
    expect(z.imaginaryOhm[0]).toBeCloseTo(-r / 2, 15);
  });

  it('is R/2·(1 − j·tan(nπ/4)) for R ∥ constant-phase element at its apex', () => {
    for (const n of [0.5, 0.7, 0.85, 1]) {
      const z = unitArc(1 / 0.3, 0.3, n);
      expect(z.real).toBeCloseTo(0.5, 14);
      expect(z.imaginary).toBeCloseTo(-0.5 * Math.tan((n * Math.PI) / 4), 14);
    }
  });

  it('equals 1/(1/R + (jω)^n·Q) with Q = τ^n/R', () => {
    const [r, tau, n, omega] = [0.015, 0.1, 0.9, 37];
    const q = tau ** n / r;
    const real = 1 / r + q * omega ** n * Math.cos((n * Math.PI) / 2);
    const imaginary = q * omega ** n * Math.sin((n * Math.PI) / 2);
    const square = real ** 2 + imaginary ** 2;
    const z = unitArc(omega, tau, n);
    expect(r * z.real).toBeCloseTo(real / square, 15);
    expect(r * z.imaginary).toBeCloseTo(-imaginary / square, 15);
  });

  it('has a diffusion tail of −45° and |Z| = σ·√(2/ω), and an inductance of jωL', () => {
    const omega = 2 * Math.PI * 0.01;
    const tail = circuitImpedance({ ...nothing, diffusionCoefficient: 0.003 }, [0.01]);
    expect(tail.imaginaryOhm[0]).toBe(-tail.realOhm[0]);
    expect(Math.hypot(tail.realOhm[0], tail.imaginaryOhm[0])).toBeCloseTo(0.003 * Math.sqrt(2 / omega), 15);
    const coil = circuitImpedance({ ...nothing, seriesInductanceH: 2e-7 }, [5000]);
    expect([coil.realOhm[0], coil.imaginaryOhm[0]]).toEqual([0, 2 * Math.PI * 5000 * 2e-7]);
  });

  it('has the derivatives of an arc that differences give', () => {
    const [omega, tau, n, h] = [11, 0.07, 0.8, 1e-6];
    const { byLogTau, byExponent } = unitArcWithDerivatives(omega, tau, n);
    const [later, sooner] = [unitArc(omega, tau * Math.exp(h), n), unitArc(omega, tau * Math.exp(-h), n)];
    const [more, less] = [unitArc(omega, tau, n + h), unitArc(omega, tau, n - h)];
    expect(byLogTau.real).toBeCloseTo((later.real - sooner.real) / (2 * h), 8);
    expect(byLogTau.imaginary).toBeCloseTo((later.imaginary - sooner.imaginary) / (2 * h), 8);
    expect(byExponent.real).toBeCloseTo((more.real - less.real) / (2 * h), 8);
    expect(byExponent.imaginary).toBeCloseTo((more.imaginary - less.imaginary) / (2 * h), 8);
  });
});

describe('the impedance at one frequency', () => {
  const spectrum = {
    frequencyHz: Float64Array.of(10, 1000, 100),
    realOhm: Float64Array.of(3, 1, 2),
    imaginaryOhm: Float64Array.of(-4, 0, -2),
  };

  it('is interpolated in the logarithm of the frequency, whatever the order of the points', () => {
    const at = impedanceAt(spectrum, Math.sqrt(10 * 100));
    expect(at.realOhm).toBeCloseTo(2.5, 14);
    expect(at.imaginaryOhm).toBeCloseTo(-3, 14);
    expect(at.magnitudeOhm).toBeCloseTo(Math.hypot(2.5, -3), 14);
  });

  it('is the measured value where the frequency was measured, the mean where more than once', () => {
    expect(impedanceAt(spectrum, 10)).toMatchObject({ realOhm: 3, imaginaryOhm: -4, magnitudeOhm: 5 });
    const twice = {
      frequencyHz: Float64Array.of(10, 10),
      realOhm: Float64Array.of(3, 5),
      imaginaryOhm: Float64Array.of(-4, -2),
    };
    expect(impedanceAt(twice, 10)).toMatchObject({ realOhm: 4, imaginaryOhm: -3, magnitudeOhm: 5 });
  });

  it('between its points is that of the spectrum within its uncertainty, where an inductance bends it', () => {
    // Ohmic resistance and inductance in series, 5 points a decade, none of them at 1 kHz.
    const frequencyHz = Float64Array.from({ length: 21 }, (_, k) => 2e4 / 10 ** (k / 5));
    const spectrum = {
      frequencyHz,
      realOhm: new Float64Array(21).fill(2e-3),
      imaginaryOhm: frequencyHz.map((f) => 2 * Math.PI * f * 1.7e-7),
    };
    const truth = Math.hypot(2e-3, 2 * Math.PI * 1000 * 1.7e-7);
    const { magnitudeOhm, interpolationOhm } = impedanceAt(spectrum, 1000);
    expect(interpolationOhm ?? 0).toBeGreaterThan(0);
    expect(Math.abs((magnitudeOhm ?? 0) - truth)).toBeLessThan(1.96 * (interpolationOhm ?? 0));
    expect(Math.abs((magnitudeOhm ?? 0) / truth - 1)).toBeLessThan(1e-3);
    const few = {
      ...spectrum,
      frequencyHz: frequencyHz.slice(6, 8),
      realOhm: spectrum.realOhm.slice(6, 8),
      imaginaryOhm: spectrum.imaginaryOhm.slice(6, 8),
    };
    expect(impedanceAt(few, 1000)).toMatchObject({ reason: null, interpolationOhm: null });
  });

  it('is missing with its reason outside the range and across a gap of more than a decade', () => {
    expect(impedanceAt(spectrum, 1001)).toMatchObject({
      magnitudeOhm: null,
      reason: 'outside-measured-range',
    });
    expect(impedanceAt(spectrum, 9)).toMatchObject({ magnitudeOhm: null, reason: 'outside-measured-range' });
    const sparse = {
      frequencyHz: Float64Array.of(5000, 400),
      realOhm: Float64Array.of(1, 2),
      imaginaryOhm: Float64Array.of(0, 0),
    };
    expect(impedanceAt(sparse, 1000)).toMatchObject({ magnitudeOhm: null, reason: 'points-too-far-apart' });
    expect(() => impedanceAt(spectrum, 0)).toThrow('frequencyHz must be above 0, got 0');
  });
});

const interceptOf = (spectrum: Spectrum) => highFrequencyIntercept(spectrum, checkKramersKronig(spectrum));

describe('the high-frequency intercept', () => {
  it('lies where ωL = Rωτ/(1 + ω²τ²): at ω = √(Rτ/L − 1)/τ, with R0 + R/(1 + ω²τ²) = R0 + L/τ', () => {
    const [l, r0, r, tau] = [2e-7, 0.02, 0.01, 0.002];
    const arcs = [{ resistanceOhm: r, timeConstantS: tau, exponent: 1 }];
    const circuit = { ...nothing, seriesInductanceH: l, seriesResistanceOhm: r0, arcs };
    const found = interceptOf(spectrumOf(circuit, logFrequencies(1e5, 1, 200)));
    expect(found.frequencyHz! / (Math.sqrt((r * tau) / l - 1) / tau / (2 * Math.PI))).toBeCloseTo(1, 4);
    expect(found.resistanceOhm).toBeCloseTo(r0 + l / tau, 7);
  });

  it('is missing with its reason where the imaginary part keeps its sign', () => {
    const capacitive = spectrumOf({ ...powerCell, seriesInductanceH: 0 }, logFrequencies(6000, 0.1, 5));
    expect(interceptOf(capacitive).reason).toBe('no-inductive-part');
    const inductive = spectrumOf(
      { ...nothing, seriesResistanceOhm: 1, seriesInductanceH: 1 },
      logFrequencies(10, 1, 5),
    );
    expect(interceptOf(inductive).reason).toBe('no-capacitive-part');
  });

  it('is missing across a gap of more than a decade, and where only low frequencies are above zero', () => {
    const at = (frequencies: number[], imaginary: number[]) =>
      interceptOf({
        frequencyHz: Float64Array.from(frequencies),
        realOhm: Float64Array.from(frequencies, (_, i) => i + 1),
        imaginaryOhm: Float64Array.from(imaginary),
      });
    expect(at([10_000, 100, 10], [1, -1, -2])).toEqual({
      resistanceOhm: null,
      frequencyHz: null,
      standardUncertaintyOhm: null,
      reason: 'points-too-far-apart',
    });
    expect(at([10_000, 100, 10], [1, 0, -2])).toMatchObject({ resistanceOhm: 2, reason: null });
    expect(at([1000, 100, 10], [0, -1, -2])).toMatchObject({ resistanceOhm: 1, reason: null });
    expect(at([1000, 100, 10], [-1, -2, 1]).reason).toBe('no-inductive-part');
  });
});

describe('a spectrum that cannot be', () => {
  it('is refused with the place and what it must be', () => {
    const columns = (f: number[], re: number[], im: number[]) => ({
      frequencyHz: Float64Array.from(f),
      realOhm: Float64Array.from(re),
      imaginaryOhm: Float64Array.from(im),
    });
    expect(() => checkSpectrum(columns([], [], []))).toThrow('at least one point');
    expect(() => checkSpectrum(columns([1, 2], [1], [1, 2]))).toThrow('must be as many');
    expect(() => checkSpectrum(columns([1, 0], [1, 1], [1, 2]))).toThrow('frequencyHz[1] is 0');
    expect(() => checkSpectrum(columns([1], [0], [0]))).toThrow('must be finite and above 0');
  });
});
