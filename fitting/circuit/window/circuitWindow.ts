import type { RowRange } from '../../records/index.ts';
import { type ChannelLag, laggedEdges, reflectBlock, rowsOfEdges } from '../channel/laggedEdges.ts';
import { IntervalCoefficients } from './intervalCoefficients.ts';

/** A stretch of intervals that the kernel treats alike. Interval k leads from row k−1 to row k. */
export interface IntervalRun {
  /** First interval. */
  readonly start: number;
  /** Interval after the last. */
  readonly end: number;
  /** `uniform` and `constant`: current constant throughout; uniform also has equal intervals. */
  readonly kind: 'uniform' | 'constant' | 'varying';
  /** Length of the intervals in s (uniform runs). */
  readonly intervalS: number;
  /** Current of the run in A (uniform and constant runs). */
  readonly currentA: number;
  /** Σ voltage and Σ voltage² over the rows. */
  readonly voltageSum: number;
  readonly voltageSquares: number;
  /** Whether the rows count in the fit, or only lead the branches into their state. */
  readonly scored: boolean;
}

/** A part of a record made ready for circuit fits: relative current and voltage, cut into runs. */
export interface CircuitWindow {
  readonly timeS: Float64Array;
  /** Current at each row, relative to `baseCurrentA`. */
  readonly currentA: Float64Array;
  /**
   * 1 where the current jumped right after the row before: it is constant over the interval that ends at the
   * row.
   */
  readonly sharp: Uint8Array;
  /** Voltage relative to `referenceV`. */
  readonly voltageV: Float64Array;
  readonly referenceV: number;
  readonly baseCurrentA: number;
  /** Current before the window that moves charge on: `baseCurrentA` of a load, 0 of a rest. */
  readonly chargeBaseA: number;
  /** 1 for the rows that count as they are; the others lead the branches into their state. */
  readonly scored: Uint8Array;
  /** How many rows count, those of the lagged edges among them. */
  readonly scoredRows: number;
  /** A voltage channel that lags, and the rows after edges that count without what is left of the edge. */
  readonly lag: ChannelLag | null;
  readonly runs: readonly IntervalRun[];
}

/** Current at the beginning of the interval that ends at row k. */
export function currentBefore(window: CircuitWindow, k: number): number {
  return window.sharp[k] === 1 ? window.currentA[k] : window.currentA[k - 1];
}

/** The values of the rows that count; those of lagged edges reflected, see `LaggedEdge`. */
export function scoredValues(window: CircuitWindow, values: Float64Array): Float64Array {
  const { scored, scoredRows, lag } = window;
  if (scoredRows === values.length) return values;
  const kept = new Float64Array(scoredRows);
  const edges = lag?.edges ?? [];
  for (let k = 0, i = 0, next = 0; k < values.length; k++) {
    if (edges[next]?.start === k) {
      const edge = edges[next++];
      const block = values.slice(edge.start, edge.end);
      reflectBlock(edge, block, 0);
      kept.set(block.subarray(1), i);
      i += block.length - 1;
      k = edge.end - 1;
    } else if (scored[k] === 1) kept[i++] = values[k];
  }
  return kept;
}

const laggedCurrents = new WeakMap<CircuitWindow, Float64Array>();

/**
 * The current that R0 is multiplied with at every row: the current itself, or, where the voltage channel lags,
 * the current as that channel would show it.
 */
export function currentOfR0(window: CircuitWindow): Float64Array {
  if (window.lag === null) return window.currentA;
  const known = laggedCurrents.get(window);
  if (known !== undefined) return known;
  const { currentA, lag } = window;
  const lagged = currentA.slice();
  const made = new IntervalCoefficients(window, lag.edges);
  made.prepare(lag.lagS);
  for (const edge of lag.edges) {
    // Before an edge the channel has caught up with the current.
    let u = currentA[edge.start - 1];
    for (let k = edge.start; k < edge.end; k++) {
      const e = made.indexOf[k];
      u = made.keep[e] * u + made.here[e] * currentA[k] + made.before[e] * currentBefore(window, k);
      lagged[k] = u;
    }
  }
  laggedCurrents.set(window, lagged);
  return lagged;
}

const charges = new WeakMap<CircuitWindow, Float64Array>();

/** Charge since the first row at every row of a window, in A s; worked out once for each window. */
export function windowCharge(window: CircuitWindow): Float64Array {
  const known = charges.get(window);
  if (known !== undefined) return known;
  const { timeS, currentA } = window;
  const charge = new Float64Array(timeS.length);
  for (let k = 1; k < charge.length; k++) {
    const mean = window.chargeBaseA + 0.5 * (currentA[k] + currentBefore(window, k));
    charge[k] = charge[k - 1] + mean * (timeS[k] - timeS[k - 1]);
  }
  charges.set(window, charge);
  return charge;
}

/** What a window is made of. */
export interface CircuitSamples {
  readonly timeS: Float64Array;
  readonly currentA: Float64Array;
  readonly voltageV: Float64Array;
  /**
   * Rows at which the current jumped sharply right after the row before (else it is taken as linear between
   * rows).
   */
  readonly sharpRows?: readonly number[];
  /** Steady current before the first row, at which the branches are taken to be settled. Default 0. */
  readonly baseCurrentA?: number;
  /** The part of it that moves charge. Default 0. */
  readonly chargeBaseA?: number;
  /** Rows before this one only lead the branches into their state. Default 0. */
  readonly firstScored?: number;
  /** Further rows that do not count, because the instrument had not settled. */
  readonly ignored?: readonly RowRange[];
  /** First-order lag of the voltage channel in s, and the rows after edges in which it shows. */
  readonly channelLag?: { readonly lagS: number; readonly blocks: readonly RowRange[] };
}

const SHORTEST_RUN = 6;

/**
 * Makes samples ready for the circuit kernel. Current is linear between rows; at `sharpRows` it is constant
 * at the row's own value over the whole interval before the row.
 *
 * @throws RangeError where lengths differ, there are fewer than two rows, or time runs backwards
 */
export function circuitWindow(samples: CircuitSamples): CircuitWindow {
  const { timeS, currentA, voltageV } = samples;
  const n = timeS.length;
  if (n < 2) throw new RangeError(`A circuit window needs at least two rows, got ${n}`);
  if (currentA.length !== n || voltageV.length !== n) {
    throw new RangeError(`timeS has ${n} values, currentA ${currentA.length}, voltageV ${voltageV.length}`);
  }
  const baseCurrentA = samples.baseCurrentA ?? 0;
  const firstScored = samples.firstScored ?? 0;
  const referenceV = voltageV[firstScored];
  const current = baseCurrentA === 0 ? currentA : currentA.map((value) => value - baseCurrentA);
  const voltage = new Float64Array(n);
  for (let k = 0; k < n; k++) voltage[k] = voltageV[k] - referenceV;
  for (let k = 1; k < n; k++) {
    if (!(timeS[k] >= timeS[k - 1])) throw new RangeError(`timeS[${k}] = ${timeS[k]} runs backwards`);
  }
  const sharp = new Uint8Array(n);
  for (const row of samples.sharpRows ?? []) if (row > 0 && row < n) sharp[row] = 1;
  const scored = new Uint8Array(n).fill(1, firstScored);
  for (const range of samples.ignored ?? []) scored.fill(0, range.start, range.end);
  const { channelLag } = samples;
  const lag = channelLag ? laggedEdges(timeS, channelLag.blocks, channelLag.lagS) : null;
  for (const edge of lag?.edges ?? []) scored.fill(0, edge.start, edge.end);
  let scoredRows = lag === null ? 0 : rowsOfEdges(lag);
  for (let k = 0; k < n; k++) scoredRows += scored[k];
  const { runs } = new RunList(timeS, current, voltage, sharp, scored);
  return {
    timeS,
    currentA: current,
    sharp,
    voltageV: voltage,
    referenceV,
    baseCurrentA,
    chargeBaseA: samples.chargeBaseA ?? 0,
    scored,
    scoredRows,
    lag,
    runs,
  };
}

/** Cuts a window into runs, in order and without overlap. */
class RunList {
  readonly runs: IntervalRun[] = [];
  private readonly timeS: Float64Array;
  private readonly currentA: Float64Array;
  private readonly voltageV: Float64Array;
  private readonly scored: Uint8Array;

  constructor(
    timeS: Float64Array,
    currentA: Float64Array,
    voltageV: Float64Array,
    sharp: Uint8Array,
    scored: Uint8Array,
  ) {
    this.timeS = timeS;
    this.voltageV = voltageV;
    this.currentA = currentA;
    this.scored = scored;
    const n = timeS.length;
    let pending = 1;
    let k = 1;
    while (k < n) {
      const level = currentA[k];
      if (currentA[k - 1] !== level && sharp[k] === 0) {
        k++;
        continue;
      }
      let end = k + 1;
      while (end < n && currentA[end] === level) end++;
      if (end - k >= SHORTEST_RUN) {
        this.put(pending, k, 'varying', 0);
        this.splitConstant(k, end);
        pending = end;
      }
      k = end;
    }
    this.put(pending, n, 'varying', 0);
  }

  private put(start: number, end: number, kind: IntervalRun['kind'], intervalS: number): void {
    const { scored } = this;
    let from = start;
    while (from < end) {
      let to = from + 1;
      while (to < end && scored[to] === scored[from]) to++;
      this.push(from, to, kind, intervalS, scored[from] === 1);
      from = to;
    }
  }

  private push(
    start: number,
    end: number,
    kind: IntervalRun['kind'],
    intervalS: number,
    scored: boolean,
  ): void {
    const { voltageV } = this;
    let voltageSum = 0;
    let voltageSquares = 0;
    for (let k = start; k < end; k++) {
      const voltage = voltageV[k];
      voltageSum += voltage;
      voltageSquares += voltage * voltage;
    }
    const currentA = this.currentA[start];
    this.runs.push({ kind, intervalS, currentA, start, end, scored, voltageSum, voltageSquares });
  }

  /** Cuts intervals of constant current into uniform runs and, between them, others. */
  private splitConstant(start: number, end: number): void {
    const { timeS } = this;
    let pending = start;
    let k = start;
    while (k < end) {
      const intervalS = timeS[k] - timeS[k - 1];
      const allowed = 1e-7 * intervalS + 2e-15 * Math.abs(timeS[end - 1]);
      const low = intervalS - allowed;
      const high = intervalS + allowed;
      let stop = k + 1;
      for (; stop < end; stop++) {
        const next = timeS[stop] - timeS[stop - 1];
        if (next < low || next > high) break;
      }
      if (stop - k >= 2 * SHORTEST_RUN && intervalS > 0) {
        this.put(pending, k, 'constant', 0);
        this.put(k, stop, 'uniform', (timeS[stop - 1] - timeS[k - 1]) / (stop - k));
        pending = stop;
      }
      k = stop;
    }
    this.put(pending, end, 'constant', 0);
  }
}
