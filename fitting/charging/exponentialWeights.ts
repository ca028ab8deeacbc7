/**
 * Weights that solve y' = −λ y + g(t) exactly over a step where g is the cubic through its values at the four Lobatto
 * nodes: y(c_a h) = e^(−x c_a) y(0) + h Σ_l W_al g_l with x = λ h. This is Lobatto IIIA collocation (order 6) with the linear
 * part taken exactly (the variation-of-constants formula; Hochbruck and Ostermann, Acta Numerica 19 (2010) 209–286),
 * so that a branch with a time constant far below the step costs neither accuracy nor stability.
 */
export const NODES: readonly number[] = [0, (1 - 1 / Math.sqrt(5)) / 2, (1 + 1 / Math.sqrt(5)) / 2, 1];

/** Layout of one set: W_al at 4 (a − 1) + l for a = 1…3, l = 0…3, then e^(−x c_a) at 12 + a − 1. */
export const WEIGHTS_LENGTH = 15;

/** Coefficients of the four Lagrange polynomials, LAGRANGE[l][p] of s^p. */
const LAGRANGE = NODES.map((_, l) => lagrange(l));
const L = Float64Array.from(LAGRANGE.flat());
const moments = new Float64Array(4);

function lagrange(l: number): number[] {
  let coefficients = [1, 0, 0, 0];
  for (let k = 0; k < 4; k++) {
    if (k === l) continue;
    const scale = 1 / (NODES[l] - NODES[k]);
    coefficients = coefficients.map((c, p) => scale * ((p > 0 ? coefficients[p - 1] : 0) - NODES[k] * c));
  }
  return coefficients;
}

/** Writes the weights for x = λ h ≥ 0 at out[at…]. */
export function exponentialWeights(x: number, out: Float64Array, at: number): void {
  const whole = x >= 1 ? Math.exp(-x) : 0;
  for (let a = 1; a < 4; a++) {
    const c = NODES[a];
    let exponential = 0;
    if (x * c >= 1) {
      // The nodes lie symmetrically: e^(−x c_3) is the whole over e^(−x c_2), as long as that has not vanished.
      const first = out[at + 12];
      exponential = a === 3 ? whole : a === 2 && first > 1e-100 ? whole / first : Math.exp(-x * c);
    }
    const decay = momentsOf(x, c, exponential);
    const row = at + 4 * (a - 1);
    for (let l = 0; l < 4; l++) {
      const k = 4 * l;
      out[row + l] =
        L[k] * moments[0] + L[k + 1] * moments[1] + L[k + 2] * moments[2] + L[k + 3] * moments[3];
    }
    out[at + 12 + a - 1] = decay;
  }
}

/** 3! / (k + 4)! with alternating sign: the series of m_3 / c^4 in y = x c, to rounding for y < 1. */
const SERIES: Float64Array = (() => {
  const out = new Float64Array(17);
  let term = 1 / 4;
  for (let k = 0; k < out.length; k++) {
    out[k] = term;
    term /= -(k + 5);
  }
  return out;
})();

/**
 * Writes m_p = ∫_0^c e^(−x (c − s)) s^p ds for p = 0…3 by the recurrence that is stable on its side of x c = 1, given
 * e^(−x c) on the upper side of it. @returns e^(−x c)
 */
function momentsOf(x: number, c: number, decay: number): number {
  const y = x * c;
  if (y >= 1) {
    moments[0] = (1 - decay) / x;
    moments[1] = (c - moments[0]) / x;
    moments[2] = (c * c - 2 * moments[1]) / x;
    moments[3] = (c * c * c - 3 * moments[2]) / x;
    return decay;
  }
  // m_3 = c^4 Σ_k (−y)^k 3! / (k + 4)!, then downwards m_(p−1) = (c^p − x m_p) / p.
  let series = 0;
  for (let k = y < 0.25 ? 10 : 16; k >= 0; k--) series = series * y + SERIES[k];
  const c2 = c * c;
  const m3 = c2 * c2 * series;
  const m2 = (c2 * c - x * m3) / 3;
  const m1 = (c2 - x * m2) / 2;
  const m0 = c - x * m1;
  moments[3] = m3;
  moments[2] = m2;
  moments[1] = m1;
  moments[0] = m0;
  return 1 - x * m0;
}

/** The weights of a plain integral: ∫_0^(c_a) of the cubic, A_al at 4 (a − 1) + l. */
export const INTEGRAL: Float64Array = (() => {
  const out = new Float64Array(WEIGHTS_LENGTH);
  exponentialWeights(0, out, 0);
  return out;
})();

/** Lobatto weights of the whole step: exact for polynomials up to the fifth degree. */
export const QUADRATURE: readonly number[] = [1 / 12, 5 / 12, 5 / 12, 1 / 12];

/** Value at the fraction `s` of the step of the cubic through four node values starting at f[at]. */
export function cubicAt(f: Float64Array, at: number, s: number): number {
  let sum = 0;
  for (let l = 0; l < 4; l++) {
    const k = 4 * l;
    sum += f[at + l] * (L[k] + s * (L[k + 1] + s * (L[k + 2] + s * L[k + 3])));
  }
  return sum;
}

/** Derivative of the same cubic, per step. */
export function cubicSlopeAt(f: Float64Array, at: number, s: number): number {
  let sum = 0;
  for (let l = 0; l < 4; l++) {
    const k = 4 * l;
    sum += f[at + l] * (L[k + 1] + s * (2 * L[k + 2] + 3 * s * L[k + 3]));
  }
  return sum;
}

const D01 = NODES[1] - NODES[0];
const D12 = NODES[2] - NODES[1];
const D02 = NODES[2] - NODES[0];

/**
 * Estimate of what the cubic leaves out of a smooth function: its next Chebyshev coefficient, guessed from the fall
 * between the second and third (a geometric fall, which exponentials beat).
 */
export function leftOut(f0: number, f1: number, f2: number, f3: number): number {
  const d01 = (f1 - f0) / D01;
  const d12 = (f2 - f1) / D12;
  const d23 = (f3 - f2) / D01;
  const left = (d12 - d01) / D02;
  const right = (d23 - d12) / D02;
  const third = Math.abs(right - left) / 32;
  const second = Math.abs(left + right) / 16;
  return third < second ? (third * third) / second : third;
}
