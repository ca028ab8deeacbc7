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
  /** 1 where the current jumped right after the row before: it is constant over the interval that ends at the row. */
  readonly sharp: Uint8Array;
  /** Voltage relative to `referenceV`. */
  readonly voltageV: Float64Array;
  readonly referenceV: number;
  readonly baseCurrentA: number;
  /** First row that counts. */
  readonly firstScored: number;
  readonly runs: readonly IntervalRun[];
}

/** Current at the beginning of the interval that ends at row k. */
export function currentBefore(window: CircuitWindow, k: number): number {
  return window.sharp[k] === 1 ? window.currentA[k] : window.currentA[k - 1];
}

/** Charge since the first row at every row of a window, in A s. */
export function windowCharge(window: CircuitWindow): Float64Array {
  const { timeS, currentA } = window;
  const charge = new Float64Array(timeS.length);
  for (let k = 1; k < charge.length; k++) {
    const mean = 0.5 * (currentA[k] + currentBefore(window, k));
    charge[k] = charge[k - 1] + mean * (timeS[k] - timeS[k - 1]);
  }
  return charge;
}

/** What a window is made of. */
export interface CircuitSamples {
  readonly timeS: Float64Array;
  readonly currentA: Float64Array;
  readonly voltageV: Float64Array;
  /** Rows at which the current jumped sharply right after the row before (else it is taken as linear between rows). */
  readonly sharpRows?: readonly number[];
  /** Steady current before the first row, at which the branches are taken to be settled. Default 0. */
  readonly baseCurrentA?: number;
  /** Rows before this one only lead the branches into their state. Default 0. */
  readonly firstScored?: number;
}

const SHORTEST_RUN = 6;

/**
 * Makes samples ready for the circuit kernel. Current is linear between rows; at `sharpRows` it is constant at the row's own value over the whole interval before the row.
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
  const runs = new RunList(timeS, current, voltage, sharp, firstScored).runs;
  return { timeS, currentA: current, sharp, voltageV: voltage, referenceV, baseCurrentA, firstScored, runs };
}

/** Cuts a window into runs, in order and without overlap. */
class RunList {
  readonly runs: IntervalRun[] = [];
  private readonly timeS: Float64Array;
  private readonly currentA: Float64Array;
  private readonly voltageV: Float64Array;
  private readonly firstScored: number;

  constructor(
    timeS: Float64Array,
    currentA: Float64Array,
    voltageV: Float64Array,
    sharp: Uint8Array,
    firstScored: number,
  ) {
    this.timeS = timeS;
    this.voltageV = voltageV;
    this.currentA = currentA;
    this.firstScored = firstScored;
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
    if (start >= end) return;
    const cut = Math.min(Math.max(this.firstScored, start), end);
    if (cut > start) this.push(start, cut, kind, intervalS, false);
    if (end > cut) this.push(cut, end, kind, intervalS, true);
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
