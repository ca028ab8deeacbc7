import type { RandomSource } from '../../fitting/statistics/random.ts';

/** One stretch of a test programme: the current that the cell carries, and for how long. */
export interface ProgrammeStep {
  readonly durationS: number;
  /** Positive on charge. */
  readonly currentA: number;
}

/** A resistor and a capacitor in parallel. */
export interface SimulatedBranch {
  readonly rOhm: number;
  readonly tauS: number;
}

/** A cell with a linear answer. */
export interface SimulatedCell {
  readonly r0Ohm: number;
  readonly branches: readonly SimulatedBranch[];
  /** Constant-phase element in series: step response `ohmAt10S`·(t/10 s)^exponent. */
  readonly constantPhase?: { readonly ohmAt10S: number; readonly exponent: number };
  readonly ocvV: number;
  /** Change of OCV with charge. */
  readonly slopeVPerAs: number;
}

/** A tester and the cell on it, as it writes its record. */
export interface SimulatedBench {
  readonly cell: SimulatedCell;
  readonly programme: readonly ProgrammeStep[];
  /** Rows before this time are not written: what came earlier is not in the record. */
  readonly recordFromS?: number;
  readonly intervalS: number;
  /** Where the grid of rows lies between the edges: a fixed share of the interval, or anywhere. */
  readonly phase: number | 'any';
  /** Each row may be this share of the interval early or late. */
  readonly jitter?: number;
  /** Every change of current takes this long. */
  readonly rampS?: number;
  /** Every current passes its new level by this share of the change, and comes back after this time. */
  readonly overshoot?: { readonly share: number; readonly lastsS: number };
  /** Every current approaches its new level exponentially with this time constant. */
  readonly settlesWithS?: number;
  /** The current column holds means over the interval before each row. */
  readonly averagedCurrent?: boolean;
  readonly noiseV: number;
  readonly noiseA: number;
  /** Quantisation of the columns; 0 for none. */
  readonly stepV?: number;
  readonly stepA?: number;
  readonly offsetA?: number;
}

/** A record as text columns hold it. */
export interface SimulatedRecord {
  readonly timeS: Float64Array;
  readonly voltageV: Float64Array;
  readonly currentA: Float64Array;
}

/** The answer to a step of 1 A at a time after it, in Ohm: what R(t) means. The change of OCV belongs to it. */
export function stepResponse(cell: SimulatedCell, timeS: number): number {
  let ohm = cell.r0Ohm + cell.slopeVPerAs * timeS;
  for (const { rOhm, tauS } of cell.branches) ohm -= rOhm * Math.expm1(-timeS / tauS);
  const { constantPhase } = cell;
  if (constantPhase) ohm += constantPhase.ohmAt10S * (timeS / 10) ** constantPhase.exponent;
  return ohm;
}

/** Corners of the current: it is linear between them, and two at one time are a jump. */
function corners({
  programme,
  rampS = 0,
  overshoot,
  settlesWithS,
}: SimulatedBench): { timeS: number; currentA: number }[] {
  const found = [{ timeS: 0, currentA: programme[0].currentA }];
  let now = 0;
  programme.forEach((step, k) => {
    if (k > 0) {
      found.push({ timeS: now, currentA: programme[k - 1].currentA });
      // A twentieth of the time constant apart, the straight pieces are the exponential to 0.03 % of the step.
      for (let i = 1; settlesWithS !== undefined && i <= 200; i++) {
        const left = (programme[k - 1].currentA - step.currentA) * Math.exp(-i / 20);
        found.push({ timeS: now + (i * settlesWithS) / 20, currentA: step.currentA + left });
      }
      if (overshoot) {
        const passedA = step.currentA + overshoot.share * (step.currentA - programme[k - 1].currentA);
        found.push({ timeS: now + rampS, currentA: passedA });
        found.push({ timeS: now + rampS + overshoot.lastsS, currentA: passedA });
      }
      const settledS = rampS + (overshoot?.lastsS ?? 0) + 10 * (settlesWithS ?? 0);
      found.push({ timeS: now + settledS, currentA: step.currentA });
    }
    now += step.durationS;
  });
  found.push({ timeS: now, currentA: programme[programme.length - 1].currentA });
  return found;
}

/** Times of the rows, on one grid that runs through the whole programme. */
function rowTimes(bench: SimulatedBench, endS: number, random: RandomSource): number[] {
  const { intervalS, jitter = 0, recordFromS = 0 } = bench;
  const phase = bench.phase === 'any' ? random() : bench.phase;
  const times: number[] = [];
  for (let k = 0; ; k++) {
    const exact = (k + phase) * intervalS;
    if (exact > endS - 0.5 * intervalS) return times;
    const timeS = exact + jitter * intervalS * (2 * random() - 1);
    if (timeS >= recordFromS) times.push(timeS);
  }
}

/** What the cell does at sorted times: exact between the corners, branch by branch. */
function response(cell: SimulatedCell, bench: SimulatedBench, times: readonly number[]) {
  const bends = corners(bench);
  const states = cell.branches.map(() => 0);
  const voltage: number[] = [];
  const current: number[] = [];
  const charges: number[] = [];
  let now = 0;
  let chargeAs = 0;
  let currentA = bends[0].currentA;
  let next = 1;
  const advance = (toS: number, endA: number): void => {
    const spanS = toS - now;
    if (spanS > 0) {
      const slope = (endA - currentA) / spanS;
      cell.branches.forEach(({ tauS }, j) => {
        // di/dt constant: u − i + slope·τ decays.
        const left = states[j] - currentA + slope * tauS;
        states[j] = endA - slope * tauS + left * Math.exp(-spanS / tauS);
      });
      chargeAs += 0.5 * (currentA + endA) * spanS;
    }
    now = toS;
    currentA = endA;
  };
  for (const timeS of times) {
    // A row at the very moment of a jump is taken just before it.
    while (next < bends.length && bends[next].timeS < timeS) {
      advance(bends[next].timeS, bends[next].currentA);
      next++;
    }
    const to = bends[Math.min(next, bends.length - 1)];
    const share = to.timeS > now ? (timeS - now) / (to.timeS - now) : 0;
    advance(timeS, currentA + Math.min(share, 1) * (to.currentA - currentA));
    let volts = cell.ocvV + cell.slopeVPerAs * chargeAs + cell.r0Ohm * currentA;
    cell.branches.forEach(({ rOhm }, j) => {
      volts += rOhm * states[j];
    });
    volts += constantPhaseVoltage(cell, bench, timeS);
    voltage.push(volts);
    current.push(currentA);
    charges.push(chargeAs);
  }
  return { voltage, current, charges };
}

function constantPhaseVoltage(cell: SimulatedCell, bench: SimulatedBench, timeS: number): number {
  if (!cell.constantPhase) return 0;
  const { ohmAt10S, exponent } = cell.constantPhase;
  let volts = 0;
  let beginS = 0;
  bench.programme.forEach((step, k) => {
    const before = k === 0 ? 0 : bench.programme[k - 1].currentA;
    if (timeS > beginS) volts += (step.currentA - before) * ohmAt10S * ((timeS - beginS) / 10) ** exponent;
    beginS += step.durationS;
  });
  return volts;
}

const quantised = (value: number, step: number): number =>
  step > 0 ? Math.round(value / step) * step : value;

/**
 * A record of a linear cell under a programme, sampled and read as a bench would.
 *
 * @param normal standard normal deviates for the noise
 */
export function simulatedRecord(
  bench: SimulatedBench,
  random: RandomSource,
  normal: RandomSource,
): SimulatedRecord {
  const endS = bench.programme.reduce((sum, step) => sum + step.durationS, 0);
  const times = rowTimes(bench, endS, random);
  const { voltage, current, charges } = response(bench.cell, bench, times);
  const { noiseV, noiseA, stepV = 0, stepA = 0, offsetA = 0, averagedCurrent = false } = bench;
  const read = current.map((value, k) =>
    averagedCurrent && k > 0 ? (charges[k] - charges[k - 1]) / (times[k] - times[k - 1]) : value,
  );
  const fromS = times[0];
  // Where a converter's steps lie is its own affair.
  const [phaseV, phaseA] = [stepV * random(), stepA * random()];
  return {
    timeS: Float64Array.from(times, (timeS) => Math.round((timeS - fromS) * 1e4) / 1e4),
    voltageV: Float64Array.from(voltage, (volts) => quantised(volts + phaseV + noiseV * normal(), stepV)),
    currentA: Float64Array.from(read, (amps) =>
      quantised(amps + phaseA + offsetA + noiseA * normal(), stepA),
    ),
  };
}

/** The record as the text of a file. */
export function recordText({ timeS, voltageV, currentA }: SimulatedRecord): string {
  const lines = ['time_s,voltage_V,current_A'];
  for (let k = 0; k < timeS.length; k++) {
    lines.push(`${timeS[k]},${voltageV[k].toFixed(6)},${currentA[k].toFixed(5)}`);
  }
  return `${lines.join('\n')}\n`;
}
