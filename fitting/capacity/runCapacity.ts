import type { RecordColumns } from '../records/record.ts';
import type { ChargeRun } from './findRuns.ts';
import { chargeAndEnergy } from './integrals.ts';

/**
 * Where a discharge ends.
 * - `interpolated-crossing`: at the instant the voltage reaches the cut-off, by a straight line between two samples;
 *   a sample that reads just the cut-off has reached it, because that is where instruments stop;
 * - `first-sample-below`: at the first sample below the cut-off, that sample's interval included (the definition behind
 *   the figures of the NASA Ames battery data set);
 * - `whole-record`: at the last row of the run.
 */
export type CapacityDefinition = 'interpolated-crossing' | 'first-sample-below' | 'whole-record';

/** Capacity of one discharge. `capacityAh` and `energyWh` are positive amounts, null with a reason. */
export interface DischargeCapacity {
  readonly capacityAh: number | null;
  readonly energyWh: number | null;
  readonly reachedCutoff: boolean;
  readonly reason: 'did-not-reach-cutoff' | 'no-cutoff-stated' | 'too-few-samples' | null;
  readonly crossingTimeS: number | null;
  /** Row of the first sample below the cut-off. */
  readonly crossingRow: number | null;
  /** Amounts to the end of the run's rows, whether or not the cut-off was reached. */
  readonly chargeToEndAh: number;
  readonly energyToEndWh: number;
}

/** The first samples of a run are not tested against the cut-off: the voltage may dip while a load switches on. */
export const UNTESTED_SAMPLES = 3;

/**
 * Capacity and energy of one discharge to a stated cut-off voltage.
 *
 * The integral is the trapezoid rule from the first row of the run, so that the current's rise counts. Samples
 * that are not under load are never taken for the crossing.
 *
 * @param record columns, current positive on charge
 * @param run a discharge found by `findRuns`
 * @param cutoffVoltageV the cut-off, or null (allowed only with `whole-record`, else a reason comes back)
 * @throws RangeError when the run is a charge or the cut-off is not a positive number
 */
export function dischargeCapacity(
  record: RecordColumns,
  run: ChargeRun,
  cutoffVoltageV: number | null,
  definition: CapacityDefinition = 'interpolated-crossing',
): DischargeCapacity {
  if (run.direction !== 'discharge')
    throw new RangeError('dischargeCapacity needs a discharge, got a charge');
  if (cutoffVoltageV !== null && !(cutoffVoltageV > 0)) {
    throw new RangeError(`cutoffVoltageV must be a positive number of volts, got ${cutoffVoltageV}`);
  }
  const whole = chargeAndEnergy(record, run);
  const chargeToEndAh = Math.max(0, -whole.chargeAh);
  const energyToEndWh = Math.max(0, -whole.energyWh);
  const rest = { reachedCutoff: false, crossingTimeS: null, crossingRow: null, chargeToEndAh, energyToEndWh };
  const missing = { capacityAh: null, energyWh: null, ...rest };
  if (run.end - run.start < 2) return { ...missing, reason: 'too-few-samples' };
  if (cutoffVoltageV === null && definition !== 'whole-record')
    return { ...missing, reason: 'no-cutoff-stated' };
  const row =
    cutoffVoltageV === null
      ? null
      : firstAtCutoff(record, run, cutoffVoltageV, definition === 'interpolated-crossing');
  const crossing =
    row === null || cutoffVoltageV === null ? null : { row, ...crossingAt(record, row, cutoffVoltageV) };
  const reached = {
    reachedCutoff: crossing !== null,
    crossingTimeS: crossing?.timeS ?? null,
    crossingRow: row,
  };
  if (definition === 'whole-record') {
    const amounts = { capacityAh: chargeToEndAh, energyWh: energyToEndWh, chargeToEndAh, energyToEndWh };
    return { ...amounts, ...reached, reason: null };
  }
  if (crossing === null) return { ...missing, reason: 'did-not-reach-cutoff' };
  const exact = definition === 'interpolated-crossing';
  const sum = chargeAndEnergy(record, { start: run.start, end: crossing.row + (exact ? 0 : 1) });
  const capacityAh = -(sum.chargeAh + (exact ? crossing.chargeAh : 0));
  const energyWh = -(sum.energyWh + (exact ? crossing.energyWh : 0));
  return { capacityAh, energyWh, ...reached, reason: null, chargeToEndAh, energyToEndWh };
}

function firstAtCutoff(
  record: RecordColumns,
  run: ChargeRun,
  cutoffVoltageV: number,
  inclusive: boolean,
): number | null {
  const { voltageV } = record;
  for (let i = run.start + UNTESTED_SAMPLES; i < run.end; i++) {
    const reached = voltageV[i] < cutoffVoltageV || (inclusive && voltageV[i] === cutoffVoltageV);
    if (reached && i >= run.firstLoadedRow && i <= run.lastLoadedRow + 1) return i;
  }
  return null;
}

/** Time of the crossing and the amounts between the sample before it and the crossing. */
function crossingAt(
  record: RecordColumns,
  row: number,
  cutoffVoltageV: number,
): { timeS: number; chargeAh: number; energyWh: number } {
  const { timeS, voltageV, currentA } = record;
  const fall = voltageV[row - 1] - voltageV[row];
  const above = voltageV[row - 1] - cutoffVoltageV;
  const fraction = fall > 0 && above > 0 ? above / fall : 0;
  const spanS = fraction * (timeS[row] - timeS[row - 1]);
  const currentThere = currentA[row - 1] + fraction * (currentA[row] - currentA[row - 1]);
  return {
    timeS: timeS[row - 1] + spanS,
    chargeAh: (spanS / 7200) * (currentA[row - 1] + currentThere),
    energyWh: (spanS / 7200) * (currentA[row - 1] * voltageV[row - 1] + currentThere * cutoffVoltageV),
  };
}
