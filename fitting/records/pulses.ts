import { medianOf } from '../numeric/index.ts';
import type { RecordColumns, RowRange } from './record.ts';
import type { Step } from './step.ts';
import type { StepFinding } from './steps.ts';
import { voltageAnswers, voltageReading } from './voltageAnswer.ts';

export type PulseDirection = 'charge' | 'discharge';
export type PulseEnd = 'time' | 'voltage-limit' | 'record-end';

/** A short step of current out of rest, or out of a smaller or opposite steady current. */
export interface Pulse extends RowRange {
  /** First and last step (included) that the pulse consists of. */
  readonly firstStep: number;
  readonly lastStep: number;
  /** Step before the pulse. */
  readonly baseStep: number;
  /** The last moment without the pulse's current, in the record's time. */
  readonly startTimeS: number;
  /**
   * The moment that durations are counted from: the start; or the first reading under load where the record's
   * first readings are taken before the current has settled, because then the step is only then being made.
   */
  readonly zeroTimeS: number;
  /** Standard uncertainty of that moment; 0 where rows mark it. */
  readonly zeroUncertaintyS: number;
  /** From the start to the last reading of the pulse. */
  readonly durationS: number;
  /** Median of the settled current in A, positive on charge. */
  readonly currentA: number;
  /** Current just before: about 0 out of rest. */
  readonly baseCurrentA: number;
  readonly direction: PulseDirection;
  readonly endedBy: PulseEnd;
}

export interface PulseOptions {
  /** Longest pulse in s. Default 150: the standard profiles end at 120 s, emptying steps take longer. */
  readonly longestS?: number;
  /**
   * Voltage limits of the test in V, to recognise pulses that met one. Without them the record's extremes
   * serve.
   */
  readonly minVoltageV?: number | null;
  readonly maxVoltageV?: number | null;
}

/** The pulses of a record, and the short steps of current that are none because the voltage does not follow them. */
export interface FoundPulses {
  readonly pulses: readonly Pulse[];
  readonly unanswered: readonly Pulse[];
}

/** The pulses of a record, see {@link separatePulses}. */
export function findPulses(record: RecordColumns, finding: StepFinding, options: PulseOptions = {}): Pulse[] {
  return [...separatePulses(record, finding, options).pulses];
}

/**
 * Finds the pulses among the steps of a record, in order. A reduction of a current of the same sign is none,
 * nor is a step behind a gap or a clock restart, because the state before it is unknown. A pulse that is cut
 * back by a voltage limit keeps its constant-voltage end. A step that the voltage does not follow by more than
 * its noise is noise of the current, or tells nothing.
 */
export function separatePulses(
  record: RecordColumns,
  finding: StepFinding,
  options: PulseOptions = {},
): FoundPulses {
  const longestS = options.longestS ?? 150;
  const { steps } = finding;
  const found: Pulse[] = [];
  const unanswered: Pulse[] = [];
  const reading = voltageReading(finding.voltageNoiseV, finding.voltageResolutionV);
  for (let s = 1; s < steps.length; s++) {
    if (!beginsPulse(steps, s, finding)) continue;
    let last = s;
    while (last + 1 < steps.length && continuesPulse(steps, s, last + 1)) last++;
    const pulse = describePulse(record, finding, s, last);
    if (pulse.durationS <= longestS)
      (voltageAnswers(record, pulse, reading) ? found : unanswered).push(pulse);
    s = last;
  }
  const limits = voltageLimits(record, options);
  const pulses = found.filter((pulse) => !isEmptying(record, finding, pulse, found, limits));
  const rising = isRising(record, finding, pulses);
  return {
    pulses: pulses.map((pulse) => ({
      ...pulse,
      ...(rising ? zeroAtFirstReading(record, pulse) : {}),
      endedBy: endOf(record, finding, pulse, pulses, limits),
    })),
    unanswered,
  };
}

/**
 * Whether the instrument takes its first reading before the current has settled: so in most of the pulses.
 */
function isRising(record: RecordColumns, finding: StepFinding, pulses: readonly Pulse[]): boolean {
  const tolerance = 3 * finding.scale.loadNoiseA + finding.scale.resolutionA;
  const judged = pulses.filter((pulse) => pulse.end - pulse.start > 2);
  const unsettled = judged.filter(
    (pulse) => Math.abs(pulse.currentA - record.currentA[pulse.start]) > tolerance,
  );
  return 2 * unsettled.length > judged.length;
}

/**
 * Counts durations from the first reading under load; the step was made somewhere in the interval before it.
 */
function zeroAtFirstReading(
  record: RecordColumns,
  pulse: Pulse,
): Pick<Pulse, 'zeroTimeS' | 'zeroUncertaintyS'> {
  const zeroTimeS = record.timeS[pulse.start];
  return { zeroTimeS, zeroUncertaintyS: (zeroTimeS - pulse.startTimeS) / Math.sqrt(12) };
}

const contiguous = (step: Step): boolean => step.gapBeforeS === 0 && !step.clockRestarted;

function beginsPulse(steps: readonly Step[], s: number, finding: StepFinding): boolean {
  const step = steps[s];
  const base = steps[s - 1];
  if (step.kind === 'rest' || !contiguous(step)) return false;
  if (base.kind === 'rest') return true;
  if (base.kind !== 'constant-current') return false;
  const turned = Math.sign(step.currentA) !== Math.sign(base.currentA);
  const jump = Math.abs(step.currentA) - Math.abs(base.currentA);
  return turned || jump > Math.max(0.02 * Math.abs(step.currentA), 6 * finding.scale.loadNoiseA);
}

/** A voltage-limited end belongs to the pulse, and so does a slow rise of the current at its beginning. */
function continuesPulse(steps: readonly Step[], first: number, next: number): boolean {
  const step = steps[next];
  const before = steps[next - 1];
  if (!contiguous(step) || Math.sign(step.currentA) !== Math.sign(before.currentA)) return false;
  if (step.kind === 'constant-voltage' || step.kind === 'ramp') {
    return before.kind !== 'rest' && Math.abs(step.currentA) <= 1.02 * Math.abs(before.currentA);
  }
  const rising = next - 1 === first && before.kind === 'ramp' && before.end - before.start <= 10;
  return step.kind === 'constant-current' && rising && Math.abs(step.currentA) > Math.abs(before.currentA);
}

function describePulse(record: RecordColumns, finding: StepFinding, first: number, last: number): Pulse {
  const { steps } = finding;
  const { timeS } = record;
  const start = steps[first].start;
  const end = steps[last].end;
  const before = timeS[start - 1];
  const intervalS = firstInterval(timeS, start, end);
  const waitedS = timeS[start] - before;
  const marked = waitedS <= 1.5 * intervalS || end - start === 1;
  const startTimeS = marked ? before : timeS[start] - intervalS;
  let main = first;
  for (let s = first; s <= last; s++) {
    const longer = steps[s].end - steps[s].start > steps[main].end - steps[main].start;
    if (steps[s].kind === 'constant-current' && (steps[main].kind !== 'constant-current' || longer)) main = s;
  }
  const baseCurrentA = steps[first - 1].currentA;
  const currentA = steps[main].currentA;
  return {
    start,
    end,
    firstStep: first,
    lastStep: last,
    baseStep: first - 1,
    startTimeS,
    zeroTimeS: startTimeS,
    zeroUncertaintyS: marked ? 0 : intervalS / Math.sqrt(12),
    durationS: timeS[end - 1] - startTimeS,
    currentA,
    baseCurrentA,
    direction: currentA > baseCurrentA ? 'charge' : 'discharge',
    endedBy: 'time',
  };
}

function firstInterval(timeS: Float64Array, start: number, end: number): number {
  const intervals: number[] = [];
  for (let i = start + 1; i < Math.min(end, start + 6); i++) intervals.push(timeS[i] - timeS[i - 1]);
  return intervals.length > 0 ? medianOf(intervals) : 0;
}

/** Share by which currents may differ that were programmed alike. */
const SAME_CURRENT = 0.1;

/**
 * `voltage-limit`: the pulse has a constant-voltage end; or it is shorter than the longest of its direction and
 * ended at the limit. Where no limits are given it is compared with pulses of its own current only: a level of another
 * current may be shorter by programme, and the largest reaches the record's extreme anyway.
 */
function endOf(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  all: readonly Pulse[],
  limits: VoltageLimits,
): PulseEnd {
  const kinds = finding.steps.slice(pulse.firstStep, pulse.lastStep + 1).map((step) => step.kind);
  if (kinds.includes('constant-voltage')) return 'voltage-limit';
  const reached = meetsLimit(record, finding, pulse, limits);
  const given = pulse.direction === 'charge' ? limits.highGiven : limits.lowGiven;
  const alike = all.filter(
    (other) =>
      other.direction === pulse.direction &&
      (given || Math.abs(other.currentA - pulse.currentA) <= SAME_CURRENT * Math.abs(pulse.currentA)),
  );
  const usualS = Math.max(...alike.map((other) => other.durationS));
  if (reached && pulse.durationS < 0.95 * usualS) return 'voltage-limit';
  return pulse.end === record.timeS.length ? 'record-end' : 'time';
}

/** Limits of the voltage in V: those given, else the record's own extremes. */
interface VoltageLimits {
  readonly lowV: number;
  readonly highV: number;
  readonly lowGiven: boolean;
  readonly highGiven: boolean;
}

function voltageLimits(record: RecordColumns, options: PulseOptions): VoltageLimits {
  let [lowV, highV] = [Infinity, -Infinity];
  for (const voltage of record.voltageV) {
    if (voltage < lowV) lowV = voltage;
    if (voltage > highV) highV = voltage;
  }
  const { minVoltageV = null, maxVoltageV = null } = options;
  return {
    lowV: minVoltageV ?? lowV,
    highV: maxVoltageV ?? highV,
    lowGiven: minVoltageV !== null,
    highGiven: maxVoltageV !== null,
  };
}

/** Whether a pulse ended within 10 mV of its voltage limit, or would have passed it by the next reading. */
function meetsLimit(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  limits: VoltageLimits,
): boolean {
  const last = pulse.end - 1;
  const lastV = record.voltageV[last];
  // The reading that met the limit may not be in the record: then the last one is up to an interval away from it.
  const stepV = last > pulse.start + 1 ? Math.abs(lastV - record.voltageV[last - 1]) : 0;
  const margin = Math.max(0.01, 3 * finding.voltageResolutionV, 2 * stepV);
  return pulse.direction === 'charge' ? lastV >= limits.highV - margin : lastV <= limits.lowV + margin;
}

/**
 * A step that ran into the voltage limit and lasted clearly longer than the record's pulses of its direction
 * (three or more of one length) empties or fills the cell; it is not a pulse.
 */
function isEmptying(
  record: RecordColumns,
  finding: StepFinding,
  pulse: Pulse,
  all: readonly Pulse[],
  limits: VoltageLimits,
): boolean {
  const others = all.filter((other) => other !== pulse && other.direction === pulse.direction);
  const usualS = medianOf(others.map((other) => other.durationS));
  const alike = others.filter((other) => Math.abs(other.durationS - usualS) <= 0.05 * usualS);
  return alike.length >= 3 && pulse.durationS > 1.3 * usualS && meetsLimit(record, finding, pulse, limits);
}
