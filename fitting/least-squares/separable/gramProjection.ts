import { boundedFromGram } from './boundedFromGram.ts';

/** Squared relative length below which what is left of a column counts as rounding. */
const RANK_TOLERANCE = 1e-13;

/**
 * The projected problem at one value of the nonlinear parameters, from Gram sums alone.
 *
 * With Z = [basis φ (p), derivative columns D (d), y] and G = Zᵀ W Z, solving the linear parameters exactly
 * gives c = A⁻¹b (A = φᵀWφ, b = φᵀWy) and the reduced cost S(θ) = yᵀWy − bᵀc. Its gradient and Gauss–Newton
 * matrix need no further pass over the samples:
 *   Jₖ = Σ cⱼ Dⱼₖ,   gₖ = Jₖᵀ W r,   H = JᵀWJ − Fᵀ A⁻¹ F,   F = φᵀWJ
 * (variable projection: Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, in Kaufman's form, BIT 15
 * (1975) 49; H is also the Schur complement of the full Gauss–Newton matrix, so H⁻¹ is the covariance of θ
 * with c free.)
 *
 * Work arrays are allocated once; `project` allocates nothing unless a linear bound is active.
 */
export class GramProjection {
  readonly basisCount: number;
  readonly nonlinearCount: number;
  /** Side of the Gram matrix: p + d + 1. */
  readonly side: number;
  /** Row-major, upper triangle used: gram[i·side + j], i ≤ j. */
  readonly gram: Float64Array;
  readonly coefficients: Float64Array;
  /** gₖ: half the negative derivative of S. */
  readonly gradient: Float64Array;
  /** H, row-major q×q. */
  readonly hessian: Float64Array;
  /** F, row-major p×q. */
  readonly cross: Float64Array;
  /** JᵀWJ, row-major q×q. */
  readonly slopes: Float64Array;
  /**
   * 0: solved; 1: at its lower bound, 2: at its upper bound, 3: not determined (set to 0 or the nearest
   * bound).
   */
  readonly linearState: Uint8Array;
  residualSumOfSquares = 0;
  private readonly basisOf: Int32Array;
  private readonly nonlinearOf: Int32Array;
  private readonly factor: Float64Array;
  private readonly forward: Float64Array;
  private readonly solvedCross: Float64Array;
  private readonly min: Float64Array;
  private readonly max: Float64Array;
  private readonly bounded: boolean;

  /**
   * @param dependencies which basis column depends on which nonlinear parameter, in the order of the
   * derivative columns
   * @param min lower bound of each linear parameter (−∞ for none)
   * @param max upper bound of each
   */
  constructor(
    basisCount: number,
    nonlinearCount: number,
    dependencies: readonly { readonly basis: number; readonly nonlinear: number }[],
    min: Float64Array,
    max: Float64Array,
  ) {
    this.basisCount = basisCount;
    this.nonlinearCount = nonlinearCount;
    this.side = basisCount + dependencies.length + 1;
    this.gram = new Float64Array(this.side * this.side);
    this.coefficients = new Float64Array(basisCount);
    this.gradient = new Float64Array(nonlinearCount);
    this.hessian = new Float64Array(nonlinearCount * nonlinearCount);
    this.cross = new Float64Array(basisCount * nonlinearCount);
    this.slopes = new Float64Array(nonlinearCount * nonlinearCount);
    this.linearState = new Uint8Array(basisCount);
    this.basisOf = Int32Array.from(dependencies, (dependency) => dependency.basis);
    this.nonlinearOf = Int32Array.from(dependencies, (dependency) => dependency.nonlinear);
    this.factor = new Float64Array(basisCount * basisCount);
    this.forward = new Float64Array(basisCount);
    this.solvedCross = new Float64Array(basisCount * nonlinearCount);
    this.min = min;
    this.max = max;
    this.bounded = min.some((value) => value !== -Infinity) || max.some((value) => value !== Infinity);
  }

  /**
   * Solves the linear parameters; fills cost, gradient and H. Returns false where the sums are not finite.
   */
  project(): boolean {
    this.linearState.fill(0);
    this.factorise();
    this.solveLinear();
    if (this.bounded && this.violates()) this.solveBounded();
    if (!Number.isFinite(this.residualSumOfSquares)) return false;
    this.differentiate();
    return true;
  }

  /**
   * Cholesky factor of A over the columns in state 0; a column that is left with rounding only gets state 3.
   */
  private factorise(): void {
    const { basisCount: p, side, gram, factor, linearState } = this;
    for (let i = 0; i < p; i++) {
      for (let j = 0; j < i; j++) {
        let sum = gram[j * side + i];
        for (let k = 0; k < j; k++) sum -= factor[i * p + k] * factor[j * p + k];
        const pivot = factor[j * p + j];
        factor[i * p + j] = pivot > 0 && linearState[i] === 0 ? sum / pivot : 0;
      }
      const length = gram[i * side + i];
      let rest = length;
      for (let k = 0; k < i; k++) rest -= factor[i * p + k] * factor[i * p + k];
      if (linearState[i] === 0 && !(rest > RANK_TOLERANCE * length)) linearState[i] = 3;
      factor[i * p + i] = linearState[i] === 0 ? Math.sqrt(rest) : 0;
      if (linearState[i] !== 0) for (let k = 0; k < i; k++) factor[i * p + k] = 0;
    }
  }

  private solveLinear(): void {
    const { basisCount: p, side, gram, factor, forward, coefficients, linearState } = this;
    const last = side - 1;
    let cost = gram[last * side + last];
    for (let i = 0; i < p; i++) {
      let sum = gram[i * side + last];
      for (let k = 0; k < i; k++) sum -= factor[i * p + k] * forward[k];
      forward[i] = linearState[i] === 0 ? sum / factor[i * p + i] : 0;
      cost -= forward[i] * forward[i];
    }
    for (let i = p - 1; i >= 0; i--) {
      let sum = forward[i];
      for (let k = i + 1; k < p; k++) sum -= factor[k * p + i] * coefficients[k];
      coefficients[i] = linearState[i] === 0 ? sum / factor[i * p + i] : 0;
    }
    this.residualSumOfSquares = Math.max(cost, 0) + (Number.isNaN(cost) ? Number.NaN : 0);
  }

  private violates(): boolean {
    for (let i = 0; i < this.basisCount; i++) {
      if (this.coefficients[i] < this.min[i] || this.coefficients[i] > this.max[i]) return true;
    }
    return false;
  }

  private solveBounded(): void {
    const { basisCount: p, side, gram, coefficients, linearState } = this;
    boundedFromGram(gram, side, p, this.min, this.max, coefficients, linearState);
    let cost = gram[(side - 1) * side + side - 1];
    for (let i = 0; i < p; i++) {
      let product = 0;
      for (let j = 0; j < p; j++)
        product += (i <= j ? gram[i * side + j] : gram[j * side + i]) * coefficients[j];
      cost += coefficients[i] * (product - 2 * gram[i * side + side - 1]);
    }
    this.residualSumOfSquares = Math.max(cost, 0);
    this.factorise();
  }

  private differentiate(): void {
    const { basisCount: p, nonlinearCount: q, side, gram, coefficients: c } = this;
    const { gradient, hessian, cross, slopes, basisOf, nonlinearOf } = this;
    gradient.fill(0);
    cross.fill(0);
    slopes.fill(0);
    for (let e = 0; e < basisOf.length; e++) {
      const column = p + e;
      const k = nonlinearOf[e];
      const amplitude = c[basisOf[e]];
      let residual = gram[column * side + side - 1];
      for (let j = 0; j < p; j++) {
        const product = gram[j * side + column];
        residual -= c[j] * product;
        cross[j * q + k] += amplitude * product;
      }
      gradient[k] += amplitude * residual;
      for (let f = 0; f < basisOf.length; f++) {
        const product = e <= f ? gram[column * side + p + f] : gram[(p + f) * side + column];
        slopes[k * q + nonlinearOf[f]] += amplitude * c[basisOf[f]] * product;
      }
    }
    const { factor, solvedCross, linearState } = this;
    for (let k = 0; k < q; k++) {
      for (let i = 0; i < p; i++) {
        let sum = cross[i * q + k];
        for (let j = 0; j < i; j++) sum -= factor[i * p + j] * solvedCross[j * q + k];
        solvedCross[i * q + k] = linearState[i] === 0 ? sum / factor[i * p + i] : 0;
      }
    }
    for (let k = 0; k < q; k++) {
      for (let l = 0; l <= k; l++) {
        let sum = slopes[k * q + l];
        for (let i = 0; i < p; i++) sum -= solvedCross[i * q + k] * solvedCross[i * q + l];
        hessian[k * q + l] = sum;
        hessian[l * q + k] = sum;
      }
    }
  }

  /**
   * Adds to `target` the change of the linear parameters that goes with a change of the nonlinear ones: A⁻¹(B
   * − F)δ, Bⱼₖ = Dⱼₖᵀ W r.
   */
  followLinear(change: Float64Array, target: Float64Array): void {
    const {
      basisCount: p,
      nonlinearCount: q,
      side,
      gram,
      coefficients: c,
      factor,
      forward,
      linearState,
    } = this;
    for (let i = 0; i < p; i++) {
      forward[i] = 0;
      for (let k = 0; k < q; k++) forward[i] -= this.cross[i * q + k] * change[k];
    }
    for (let e = 0; e < this.basisOf.length; e++) {
      let residual = gram[(p + e) * side + side - 1];
      for (let j = 0; j < p; j++) residual -= c[j] * gram[j * side + p + e];
      forward[this.basisOf[e]] += residual * change[this.nonlinearOf[e]];
    }
    for (let i = 0; i < p; i++) {
      for (let k = 0; k < i; k++) forward[i] -= factor[i * p + k] * forward[k];
      forward[i] = linearState[i] === 0 ? forward[i] / factor[i * p + i] : 0;
    }
    for (let i = p - 1; i >= 0; i--) {
      for (let k = i + 1; k < p; k++) forward[i] -= factor[k * p + i] * forward[k];
      forward[i] = linearState[i] === 0 ? forward[i] / factor[i * p + i] : 0;
      target[i] += forward[i];
    }
  }
}
