/** One step of an instrument's step log: no samples, only its ends. */
export interface LoggedStep {
  readonly startTimeS: number;
  readonly durationS: number;
  readonly startVoltageV: number;
  readonly endVoltageV: number;
  /** Signed, positive on charge; 0 in rest. */
  readonly startCurrentA: number;
  readonly endCurrentA: number;
}

/** A pulse read from a step log. */
export interface LoggedPulse {
  /** Index of the step in the log. */
  readonly step: number;
  readonly direction: 'charge' | 'discharge';
  readonly currentA: number;
  readonly durationS: number;
  /**
   * Duration that most pulses between rests of the same lengths have; where no three of those agree, that of the
   * next longer step that many pulses of the log have, where this one is shorter by over 5 %.
   */
  readonly intendedDurationS: number;
  /** Shorter than intended by over 5 %. */
  readonly endedEarly: boolean;
  /**
   * Ended at or beyond the voltage at which pulses of its direction were ended early, and which none reached
   * that lasted as intended.
   */
  readonly endedByVoltageLimit: boolean;
  /** Voltage at the end of the rest before. */
  readonly restVoltageV: number;
  /** At the first sample of the pulse. */
  readonly firstResistanceOhm: number;
  /** At its end, `durationS` after the step. */
  readonly endResistanceOhm: number;
}

/** Pause between two steps above which the rest's last voltage says nothing about the pulse's beginning. */
const LONGEST_PAUSE_S = 5;
/** Two durations closer than this share are the same. */
const SAME = 0.05;

interface Found {
  readonly step: LoggedStep;
  readonly index: number;
  readonly rest: LoggedStep;
  /** Lengths of the rests before and after, in s; null where no rest follows. */
  readonly between: readonly [number, number | null];
}

type Ending = Pick<LoggedPulse, 'intendedDurationS' | 'endedEarly'>;

/**
 * Reads the pulses off a step log: every step of current of at most `longestS` right after a rest. R = |U −
 * U_rest|/|I|, with the current of the same reading. The intended duration of a pulse follows from the rests around
 * it, which a limit does not cut: pulses of one programme step stand between rests of one length. A pulse that a
 * limit ended may last longer than meant too, where the instrument takes longer to act than the pulse was to last.
 */
export function stepTablePulses(steps: readonly LoggedStep[], longestS = 150): LoggedPulse[] {
  const found = findPulses(steps, longestS);
  const usual = usualDurations(found);
  // Rests of a programme have few lengths, so that few searches are needed.
  const known = new Map<string, number | null>();
  const endings = found.map((one, k): Ending => {
    const key = one.between.join(' ');
    if (!known.has(key)) known.set(key, likeDuration(one, neighboursOf(found, k)));
    const like = known.get(key) ?? null;
    const intendedDurationS = like ?? nextLonger(one.step.durationS, usual);
    return { intendedDurationS, endedEarly: one.step.durationS < (1 - SAME) * intendedDurationS };
  });
  const limits = { charge: limitOf(1, found, endings), discharge: limitOf(-1, found, endings) };
  return found.map(({ step, index, rest }, k) => {
    const direction = step.endCurrentA > 0 ? 'charge' : 'discharge';
    const rise = (voltageV: number, currentA: number): number =>
      Math.abs((voltageV - rest.endVoltageV) / currentA);
    return {
      step: index,
      direction,
      currentA: step.endCurrentA,
      durationS: step.durationS,
      ...endings[k],
      endedByVoltageLimit: isBeyond(step, limits[direction]),
      restVoltageV: rest.endVoltageV,
      firstResistanceOhm: rise(step.startVoltageV, step.startCurrentA),
      endResistanceOhm: rise(step.endVoltageV, step.endCurrentA),
    };
  });
}

function findPulses(steps: readonly LoggedStep[], longestS: number): Found[] {
  const isRest = (step: LoggedStep | undefined): boolean =>
    step !== undefined && step.startCurrentA === 0 && step.endCurrentA === 0;
  return steps.flatMap((step, index) => {
    const rest = steps[index - 1];
    const after = steps[index + 1];
    if (rest === undefined || isRest(step) || !isRest(rest) || step.durationS > longestS) return [];
    const pauseS = step.startTimeS - rest.startTimeS - rest.durationS;
    if (pauseS > LONGEST_PAUSE_S) return [];
    return [
      { step, index, rest, between: [rest.durationS, isRest(after) ? after.durationS : null] as const },
    ];
  });
}

const alike = (a: number, b: number): boolean => Math.abs(a - b) <= SAME * Math.max(a, b);

/** How many pulses of the log on either side are compared: several programmes' worth, in a time that grows with the log. */
const NEIGHBOURS = 500;

function neighboursOf(found: readonly Found[], k: number): readonly Found[] {
  return found.slice(Math.max(0, k - NEIGHBOURS), k + NEIGHBOURS + 1);
}

/** Duration of most pulses between rests of the same lengths; null where no three of them agree. */
function likeDuration(pulse: Found, all: readonly Found[]): number | null {
  const [before, after] = pulse.between;
  if (after === null) return null;
  const like = all.filter(({ between: [b, a] }) => a !== null && alike(b, before) && alike(a, after));
  const counts = countDurations(like);
  let [best, most] = [0, 0];
  for (const [durationS, count] of counts) if (count > most) [best, most] = [durationS, count];
  return most >= 3 && 2 * most > like.length ? best : null;
}

/** Durations that many pulses of the log have, ascending. */
function usualDurations(found: readonly Found[]): number[] {
  const least = Math.max(2, 0.02 * found.length);
  const counts = countDurations(found);
  return [...counts]
    .flatMap(([durationS, count]) => (count >= least ? [durationS] : []))
    .sort((a, b) => a - b);
}

function countDurations(found: readonly Found[]): Map<number, number> {
  const counts = new Map<number, number>();
  for (const { step } of found) counts.set(step.durationS, (counts.get(step.durationS) ?? 0) + 1);
  return counts;
}

function nextLonger(durationS: number, usual: readonly number[]): number {
  if (usual.some((one) => Math.abs(one - durationS) <= SAME * one)) return durationS;
  return usual.find((one) => one > durationS) ?? durationS;
}

/** A voltage limit in one direction of the current. */
interface Limit {
  readonly sign: number;
  readonly voltageV: number;
}

/** The least of the voltages at which pulses ended early; null where one that lasted as intended went beyond. */
function limitOf(sign: number, found: readonly Found[], endings: readonly Ending[]): Limit | null {
  const own = found.flatMap(({ step }, k) =>
    Math.sign(step.endCurrentA) === sign ? [{ step, ending: endings[k] }] : [],
  );
  const early = own.filter(({ ending }) => ending.endedEarly);
  if (early.length === 0) return null;
  const least = Math.min(...early.map(({ step }) => sign * step.endVoltageV));
  const limit = { sign, voltageV: sign * least };
  const passed = own.some(
    ({ step, ending }) => alike(step.durationS, ending.intendedDurationS) && isBeyond(step, limit),
  );
  return passed ? null : limit;
}

function isBeyond(step: LoggedStep, limit: Limit | null): boolean {
  return limit !== null && limit.sign * step.endVoltageV >= limit.sign * limit.voltageV;
}
