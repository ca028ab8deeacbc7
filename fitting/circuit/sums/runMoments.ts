import { DECAYED, decay } from '../response/decay.ts';
import type { CircuitWindow, IntervalRun } from '../window/circuitWindow.ts';
import { decayMoments } from './decayMoments.ts';
import { weightedDecaySums } from './weightedDecaySums.ts';
import { workColumns } from './workColumns.ts';

/** Sums that a time constant has of its own, see `RunMoments.own`. */
export const OWN_MOMENTS = 5;

/**
 * The moments of p = exp(−t/τ) over a run of constant current, t since the run began, for a few time constants.
 * What a branch and what earlier currents left in it share a time constant, so they share these sums.
 */
export class RunMoments {
  /** Per time constant: Σp, Σtp, Σyp, Σytp, Σt²p; the last only where it is wanted. */
  readonly own: Float64Array;
  /** Σpₐp_b, Σtpₐp_b, Σt²pₐp_b of two time constants a ≤ b, at 3·(a·taus + b). */
  readonly pair: Float64Array;
  /**
   * Per time constant: Σp², Σtp², Σt²p² for two states that share it, multiplied out in the order of two time constants. `pair` has
   * them as the product of one column with itself, and an ill-conditioned circuit shows the difference in the last digit.
   */
  readonly shared: Float64Array;
  private readonly window: CircuitWindow;
  private readonly taus: number;
  private readonly withSquares: boolean;
  private readonly sharing: number;
  private readonly columns: readonly Float64Array[];
  /** Per time constant: row of the run from which on nothing is left of p. */
  private readonly faded: Int32Array;
  private readonly closed = new Float64Array(3);
  private readonly data = new Float64Array(2);

  /**
   * @param withSquares whether Σt²p is wanted
   * @param sharing how many of the time constants, from the first on, two states share
   */
  constructor(window: CircuitWindow, taus: number, withSquares: boolean, sharing: number) {
    this.window = window;
    this.taus = taus;
    this.withSquares = withSquares;
    this.sharing = sharing;
    this.own = new Float64Array(OWN_MOMENTS * taus);
    this.pair = new Float64Array(3 * taus * taus);
    this.shared = new Float64Array(3 * taus);
    this.faded = new Int32Array(taus);
    const rows = window.runs.some((run) => run.kind === 'constant') ? window.timeS.length : 0;
    this.columns = workColumns('moments', taus, rows);
  }

  /** Works them out for one run. */
  of(run: IntervalRun, tauS: Float64Array): void {
    const { taus } = this;
    for (let a = 0; a < taus; a++) {
      if (run.kind === 'uniform') this.uniform(run, tauS, a);
      else this.unequal(run, tauS[a], a);
    }
    if (run.kind === 'uniform') return;
    for (let a = 0; a < taus; a++) {
      if (a < this.sharing) this.unequalPair(run, a, a, this.shared, 3 * a);
      for (let b = a + 1; b < taus; b++) this.unequalPair(run, a, b, this.pair, 3 * this.indexOf(a, b));
    }
  }

  /** Which three of `pair` belong to two time constants, in either order. */
  indexOf(a: number, b: number): number {
    return a < b ? a * this.taus + b : b * this.taus + a;
  }

  /** On equal intervals the sums over p and over products of two are geometric; those over the data are not. */
  private uniform(run: IntervalRun, tauS: Float64Array, a: number): void {
    const { own, pair, closed, data, taus } = this;
    const h = run.intervalS;
    const count = run.end - run.start;
    const ratio = Math.exp(-h / tauS[a]);
    decayMoments(ratio, count, closed, 0);
    weightedDecaySums(this.window.voltageV, run.start, run.end, ratio, data);
    const at = OWN_MOMENTS * a;
    own[at] = closed[0];
    own[at + 1] = h * closed[1];
    own[at + 2] = data[0];
    own[at + 3] = h * data[1];
    own[at + 4] = h * h * closed[2];
    for (let b = a; b < taus; b++) {
      decayMoments(Math.exp(-h / tauS[a] - h / tauS[b]), count, closed, 0);
      const to = 3 * (a * taus + b);
      pair[to] = closed[0];
      pair[to + 1] = closed[1] * h;
      pair[to + 2] = closed[2] * (h * h);
    }
    for (let k = 0; k < 3; k++) this.shared[3 * a + k] = pair[3 * a * (taus + 1) + k];
  }

  /** The sums of one time constant at any times; keeps p for the products of two. */
  private unequal(run: IntervalRun, tauS: number, a: number): void {
    const { timeS, voltageV } = this.window;
    const p = this.columns[a];
    const rate = 1 / tauS;
    const origin = timeS[run.start - 1];
    // Two loops: alone, the first keeps all its constants in registers. Where p is 0 it stays so, and adds nothing.
    let end = run.start;
    for (; end < run.end; end++) {
      const z = rate * (timeS[end] - origin);
      if (z >= DECAYED) break;
      p[end] = decay(z);
    }
    let s0 = 0;
    let s1 = 0;
    let y0 = 0;
    let y1 = 0;
    let m0 = 0;
    let m1 = 0;
    let m2 = 0;
    for (let k = run.start; k < end; k++) {
      const y = voltageV[k];
      const here = p[k];
      const timed = (timeS[k] - origin) * here;
      s0 += here;
      s1 += timed;
      y0 += y * here;
      y1 += y * timed;
      m0 += here * here;
      m1 += here * timed;
      m2 += timed * timed;
    }
    let s2 = 0;
    if (this.withSquares) for (let k = run.start; k < end; k++) s2 += (timeS[k] - origin) ** 2 * p[k];
    this.faded[a] = end;
    const { own, pair } = this;
    const at = OWN_MOMENTS * a;
    own[at] = s0;
    own[at + 1] = s1;
    own[at + 2] = y0;
    own[at + 3] = y1;
    own[at + 4] = s2;
    const to = 3 * a * (this.taus + 1);
    pair[to] = m0;
    pair[to + 1] = m1;
    pair[to + 2] = m2;
  }

  private unequalPair(run: IntervalRun, a: number, b: number, out: Float64Array, to: number): void {
    const { timeS } = this.window;
    const origin = timeS[run.start - 1];
    const first = this.columns[a];
    const second = this.columns[b];
    const end = Math.min(this.faded[a], this.faded[b]);
    let s0 = 0;
    let s1 = 0;
    let s2 = 0;
    for (let k = run.start; k < end; k++) {
      const t = timeS[k] - origin;
      const product = first[k] * second[k];
      const timed = t * product;
      s0 += product;
      s1 += timed;
      s2 += t * timed;
    }
    out[to] = s0;
    out[to + 1] = s1;
    out[to + 2] = s2;
  }
}
