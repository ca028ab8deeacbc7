import type { TestKind } from '../contract/tests.ts';

/** A stretch of rest, charge or discharge in a run. */
export interface Stretch {
  readonly kind: 'rest' | 'charge' | 'discharge';
  readonly startS: number;
  readonly endS: number;
  readonly meanCurrentA: number;
}

/** Below this a current counts as rest: an offset of a channel, or noise. Common practice. */
const restCurrentA = 0.005;
/** The same as a share of the greatest current so far. */
const restShare = 0.01;
const pulseMaxS = 60;
const longMinS = 600;
const stretchesKept = 200;

/**
 * Follows a run row by row and tells, without keeping it, what kind of test it looks like, how its stretches go, and
 * whether its current seems to be signed the wrong way round. A look for the preview and for a default, no evaluation.
 */
export class RunSummary {
  readonly stretches: Stretch[] = [];
  stepsLookedAt = 0;
  stepsAgainst = 0;
  private state = 0;
  private startS = 0;
  private sumA = 0;
  private count = 0;
  private lastS = 0;
  private lastV = 0;
  private lastA = 0;
  private greatestA = 0;
  private pulses = 0;
  private longDischarges = 0;
  private driven = 0;
  private started = false;

  /** Takes the rows `from` to `to` of three columns. */
  take(
    values: Float64Array,
    timeAt: number,
    voltageAt: number,
    currentAt: number,
    from: number,
    to: number,
  ): void {
    let at = from;
    while (at < to) {
      // Rows that go on as before are only summed up; the others are looked at.
      const limit = Math.max(restCurrentA, restShare * this.greatestA);
      const { state, greatestA } = this;
      const start = at;
      let sum = 0;
      if (this.started) {
        for (; at < to; at++) {
          const currentA = values[currentAt + at];
          const size = currentA < 0 ? -currentA : currentA;
          if (size > greatestA || (size <= limit ? 0 : currentA > 0 ? 1 : -1) !== state) break;
          sum += currentA;
        }
      }
      if (at > start) {
        this.sumA += sum;
        this.count += at - start;
        this.lastS = values[timeAt + at - 1];
        this.lastV = values[voltageAt + at - 1];
        this.lastA = values[currentAt + at - 1];
      }
      if (at < to) {
        this.row(values[timeAt + at], values[voltageAt + at], values[currentAt + at]);
        at++;
      }
    }
  }

  /** What the run looks like so far. */
  kind(): TestKind {
    this.close(this.lastS, false);
    if (this.driven === 0) return 'rest';
    if (this.pulses >= 2 && this.pulses >= this.longDischarges) return 'pulse';
    return this.longDischarges >= 3 ? 'cycling' : 'capacity';
  }

  private row(timeS: number, voltageV: number, currentA: number): void {
    const size = Math.abs(currentA);
    if (size > this.greatestA) this.greatestA = size;
    const limit = Math.max(restCurrentA, restShare * this.greatestA);
    const state = size <= limit ? 0 : currentA > 0 ? 1 : -1;
    if (!this.started) {
      this.started = true;
      this.begin(state, timeS);
    } else if (state !== this.state) {
      // A step of current moves the voltage the same way at once: over the ohmic resistance (Ohm's law).
      if (Math.abs(currentA - this.lastA) > 0.1 * this.greatestA && voltageV !== this.lastV) {
        this.stepsLookedAt++;
        if (voltageV > this.lastV !== currentA > this.lastA) this.stepsAgainst++;
      }
      this.close(this.lastS, true);
      this.begin(state, timeS);
    }
    this.sumA += currentA;
    this.count++;
    this.lastS = timeS;
    this.lastV = voltageV;
    this.lastA = currentA;
  }

  private begin(state: number, timeS: number): void {
    this.state = state;
    this.startS = timeS;
    this.sumA = 0;
    this.count = 0;
  }

  private close(endS: number, followed: boolean): void {
    if (this.count === 0) return;
    const lasted = endS - this.startS;
    if (this.state !== 0) {
      this.driven++;
      if (lasted <= pulseMaxS && followed) this.pulses++;
      if (this.state < 0 && lasted >= longMinS) this.longDischarges++;
    }
    if (this.stretches.length < stretchesKept) {
      this.stretches.push({
        kind: this.state === 0 ? 'rest' : this.state > 0 ? 'charge' : 'discharge',
        startS: this.startS,
        endS,
        meanCurrentA: this.sumA / this.count,
      });
    }
    this.count = 0;
  }
}

/** What runs look like that follow each other as one record: a pulse that ends with its run is followed by the next. */
export function kindOfRuns(runs: readonly RunSummary[]): TestKind {
  for (const run of runs) run.kind();
  if (runs.length === 1) return runs[0].kind();
  const driven = runs.flatMap(({ stretches }) => stretches).filter(({ kind }) => kind !== 'rest');
  const pulses = driven.filter(({ startS, endS }) => endS - startS <= pulseMaxS).length;
  const long = driven.filter(({ kind, startS, endS }) => kind === 'discharge' && endS - startS >= longMinS);
  if (driven.length === 0) return 'rest';
  if (pulses >= 2 && pulses >= long.length) return 'pulse';
  return long.length >= 3 ? 'cycling' : 'capacity';
}

/** Whether the current's sign agrees with the voltage's movement at the steps. Undecided below three steps. */
export function signVerdict(
  stepsLookedAt: number,
  stepsAgainst: number,
): 'agrees' | 'reversed' | 'undecided' {
  if (stepsLookedAt < 3) return 'undecided';
  if (stepsAgainst >= 0.7 * stepsLookedAt) return 'reversed';
  return stepsAgainst <= 0.3 * stepsLookedAt ? 'agrees' : 'undecided';
}
