import type { ColumnModel } from '../least-squares/index.ts';
import { unitArcWithDerivatives } from './arc.ts';
import { angularFrequencies, magnitudes, type Spectrum } from './spectrum.ts';

/** The columns of a circuit's impedance, and what turns the scaled linear parameters into SI. */
export interface ImpedanceColumns {
  readonly model: ColumnModel;
  readonly scale: { readonly inductance: number; readonly diffusion: number };
}

/**
 * The circuit as a separable problem: all real parts, then all imaginary parts, weights 1/|Z|². Basis columns are
 * inductance, series resistance, diffusion where asked, and one for each arc. Inductance and diffusion are scaled to
 * their impedance at the highest and lowest frequency, so that all linear parameters are in Ω and of one size.
 */
export function impedanceColumns(spectrum: Spectrum, arcs: number, withTail: boolean): ImpedanceColumns {
  const omega = angularFrequencies(spectrum);
  const count = omega.length;
  const highest = Math.max(...omega);
  const lowest = Math.min(...omega);
  const y = new Float64Array(2 * count);
  y.set(spectrum.realOhm);
  y.set(spectrum.imaginaryOhm, count);
  const weights = new Float64Array(2 * count);
  magnitudes(spectrum).forEach((magnitude, i) => {
    weights[i] = weights[count + i] = 1 / magnitude ** 2;
  });
  const firstArc = withTail ? 3 : 2;
  const fill: ColumnModel['fill'] = (nonlinear, basis, derivatives, first) => {
    for (let i = 0; i < count; i++) {
      if (first) {
        basis[0][i] = 0;
        basis[0][count + i] = omega[i] / highest;
        basis[1][i] = 1;
        basis[1][count + i] = 0;
        if (withTail) {
          basis[2][i] = Math.sqrt(lowest / omega[i]);
          basis[2][count + i] = -basis[2][i];
        }
      }
      for (let arc = 0; arc < arcs; arc++) {
        const g = unitArcWithDerivatives(omega[i], Math.exp(nonlinear[2 * arc]), nonlinear[2 * arc + 1]);
        basis[firstArc + arc][i] = g.value.real;
        basis[firstArc + arc][count + i] = g.value.imaginary;
        derivatives[2 * arc][i] = g.byLogTau.real;
        derivatives[2 * arc][count + i] = g.byLogTau.imaginary;
        derivatives[2 * arc + 1][i] = g.byExponent.real;
        derivatives[2 * arc + 1][count + i] = g.byExponent.imaginary;
      }
    }
  };
  return {
    model: { y, weights, fill },
    scale: { inductance: 1 / highest, diffusion: Math.sqrt(lowest) },
  };
}
