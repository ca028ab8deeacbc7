import type { RecordColumns, Step } from '../records/index.ts';
import { relaxationEnd } from './relaxation.ts';

/** How far the voltage of a slow run may lie from the open-circuit voltage. */
export interface RunPolarisation {
  /** At most, in V. */
  readonly largestV: number;
  /** False where no rest follows the run, so that a usual one is assumed. */
  readonly isSeen: boolean;
}

/** Polarisation of a run at C/10 or slower at 25 °C, in V. Common practice, no source. */
const USUAL_V = 0.035;
/** Activation energy of a cell's resistance over the gas constant, in K: 40 kJ/mol. Common practice, no source. */
const ACTIVATION_K = 4811;
const ROOM_K = 298.15;
/** A rest that has not come near its end has shown half of the polarisation, or more. */
const UNFINISHED = 2;
/** A charge ends where the resistance is low; near empty it is about twice that. Common practice, no source. */
const CHARGE_BEGINS_HIGHER = 2;
/** A rest of fewer rows or shorter shows no polarisation. */
const FEWEST_ROWS = 6;
const SHORTEST_REST_S = 120;

/**
 * How far the voltage of a slow run at constant current may lie from the open-circuit voltage: by what the rest after it gives
 * back. Near empty, where a discharge ends, the resistance is highest, so that it bounds the rest of the curve.
 * Where no rest follows, a usual value at the run's temperature.
 *
 * @param index of the run's step in `steps`
 * @param resolutionV step of the instrument's voltage
 */
export function runPolarisation(
  record: RecordColumns,
  steps: readonly Step[],
  index: number,
  resolutionV: number,
): RunPolarisation {
  const run = steps[index];
  const seenV = recoveryV(record, run, steps[index + 1], resolutionV);
  if (seenV === null) return { largestV: USUAL_V * coldFactor(record, run), isSeen: false };
  return { largestV: run.currentA > 0 ? CHARGE_BEGINS_HIGHER * seenV : seenV, isSeen: true };
}

function recoveryV(
  { timeS, voltageV, currentA }: RecordColumns,
  run: Step,
  rest: Step | undefined,
  resolutionV: number,
): number | null {
  if (rest === undefined || rest.kind !== 'rest' || rest.gapBeforeS > 0 || rest.clockRestarted) return null;
  const rows = rest.end - rest.start;
  if (rows < FEWEST_ROWS || timeS[rest.end - 1] - timeS[rest.start] < SHORTEST_REST_S) return null;
  // A last row between run and rest belongs to neither.
  let last = run.end - 1;
  while (last > run.start && Math.abs(currentA[last] - run.currentA) > 0.02 * Math.abs(run.currentA)) last--;
  const end = relaxationEnd(
    timeS.subarray(rest.start, rest.end),
    voltageV.subarray(rest.start, rest.end),
    resolutionV,
  );
  const seenV = Math.abs(voltageV[rest.end - 1] - voltageV[last]);
  if (end.ocvV === null) return UNFINISHED * seenV;
  return Math.max(seenV, Math.abs(end.ocvV - voltageV[last])) + 2 * (end.standardUncertaintyV ?? 0);
}

/** How many times the resistance at 25 °C a cell at the run's mean temperature has; 1 where none is recorded, or in the warm. */
function coldFactor({ temperatureC }: RecordColumns, run: Step): number {
  if (temperatureC === undefined) return 1;
  let [sum, count] = [0, 0];
  for (let row = run.start; row < run.end; row++) {
    if (!Number.isFinite(temperatureC[row])) continue;
    sum += temperatureC[row];
    count++;
  }
  if (count === 0) return 1;
  return Math.max(1, Math.exp(ACTIVATION_K * (1 / (sum / count + 273.15) - 1 / ROOM_K)));
}
