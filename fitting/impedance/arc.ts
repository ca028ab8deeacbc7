/** A complex number. */
export interface Complex {
  readonly real: number;
  readonly imaginary: number;
}

/**
 * An arc of 1 Ω: resistance in parallel with a constant-phase element, g = 1/(1 + (jωτ)^n), which is a depressed
 * semicircle from 1 to 0 with its apex at ω = 1/τ (K. S. Cole and R. H. Cole, J. Chem. Phys. 9 (1941) 341). With n = 1
 * it is a resistance in parallel with a capacitance C = τ/R; in general the constant-phase element is
 * 1/((jω)^n Q) with Q = τ^n/R.
 */
export function unitArc(omega: number, tauS: number, exponent: number): Complex {
  const u = power(omega * tauS, exponent);
  const real = 1 + u.real;
  const square = real * real + u.imaginary * u.imaginary;
  return { real: real / square, imaginary: -u.imaginary / square };
}

/** {@link unitArc} with its derivatives by ln τ and by the exponent. */
export interface ArcWithDerivatives {
  readonly value: Complex;
  readonly byLogTau: Complex;
  readonly byExponent: Complex;
}

/** With u = (jωτ)^n: ∂g/∂ln τ = −n·u·g², ∂g/∂n = −ln(jωτ)·u·g². */
export function unitArcWithDerivatives(omega: number, tauS: number, exponent: number): ArcWithDerivatives {
  const x = omega * tauS;
  const value = unitArc(omega, tauS, exponent);
  const ug2 = times(power(x, exponent), times(value, value));
  return {
    value,
    byLogTau: { real: -exponent * ug2.real, imaginary: -exponent * ug2.imaginary },
    byExponent: times({ real: -Math.log(x), imaginary: -Math.PI / 2 }, ug2),
  };
}

/** (jx)^n = x^n·exp(jnπ/2) for x > 0. */
function power(x: number, exponent: number): Complex {
  const size = x ** exponent;
  const angle = (exponent * Math.PI) / 2;
  return { real: size * Math.cos(angle), imaginary: size * Math.sin(angle) };
}

function times(a: Complex, b: Complex): Complex {
  return {
    real: a.real * b.real - a.imaginary * b.imaginary,
    imaginary: a.real * b.imaginary + a.imaginary * b.real,
  };
}
