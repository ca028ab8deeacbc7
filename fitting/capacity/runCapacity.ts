import type { RecordColumns } from '../records/index.ts';
import { type CountingQuality, countingQuality } from './countingQuality.ts';
import { findCutoffCrossing } from './cutoffCrossing.ts';
import type { ChargeRun } from './findRuns.ts';
import { chargeAndEnergy } from './integrals.ts';
import { type RunGap, runGaps } from './pauses.ts';
import { runCharge } from './runCharge.ts';
import { lastWholeRow } from './runEdges.ts';

/**
 * Where a discharge ends.
 * - `interpolated-crossing`: at the instant the voltage reaches the cut-off for good, interpolated between the samples;
 *   a sample that reads just the cut-off has reached it, because that is where instruments stop;
 * - `first-sample-below`: at the first sample below the cut-off, that sample's interval included (the definition behind
 *   the figures of the NASA Ames battery data set), without a correction of the current's offset;
 * - `whole-record`: at the end of the run's load.
 */
export type CapacityDefinition = 'interpolated-crossing' | 'first-sample-below' | 'whole-record';

/** Capacity of one discharge. `capacityAh` and `energyWh` are positive amounts, null with a reason. */
export interface DischargeCapacity {
  readonly capacityAh: number | null;
  readonly energyWh: number | null;
  /** From sampling, noise and resolution of the record; null with the capacity. */
  readonly standardUncertaintyAh: number | null;
  /** Half-width of the 95 % interval of the capacity. */
  readonly halfWidthAh: number | null;
  /** Time over which the capacity was counted; null with the capacity. */
  readonly countedS: number | null;
  readonly reachedCutoff: boolean;
  readonly reason: 'did-not-reach-cutoff' | 'no-cutoff-stated' | 'too-few-samples' | 'gap-in-record' | null;
  readonly crossingTimeS: number | null;
  /** Row of the first sample below the cut-off. */
  readonly crossingRow: number | null;
  /** Rows below the cut-off that were not the end, because the voltage came back under the same load. */
  readonly dipRows: readonly number[];
  readonly gaps: readonly RunGap[];
  /** Amounts to the end of the run's rows, whether or not the cut-off was reached. */
  readonly chargeToEndAh: number;
  readonly energyToEndWh: number;
}

/** The first samples of a run are not tested against the cut-off by the definition `first-sample-below`. */
export const UNTESTED_SAMPLES = 3;

/**
 * Capacity and energy of one discharge to a stated cut-off voltage. Samples that are not under load are never taken for
 * the crossing.
 *
 * @param record columns, current positive on charge, without bad rows (see `withoutBadRows`)
 * @param run a discharge found by `findRuns`
 * @param cutoffVoltageV the cut-off, or null (allowed only with `whole-record`, else a reason comes back)
 * @param quality of the record, where it is known already
 * @throws RangeError when the run is a charge or the cut-off is not a positive number
 */
export function dischargeCapacity(
  record: RecordColumns,
  run: ChargeRun,
  cutoffVoltageV: number | null,
  definition: CapacityDefinition = 'interpolated-crossing',
  quality: CountingQuality = countingQuality(record),
): DischargeCapacity {
  if (run.direction !== 'discharge')
    throw new RangeError('dischargeCapacity needs a discharge, got a charge');
  if (cutoffVoltageV !== null && !(cutoffVoltageV > 0)) {
    throw new RangeError(`cutoffVoltageV must be a positive number of volts, got ${cutoffVoltageV}`);
  }
  const gaps = runGaps(record, run, quality.restA, quality.voltageNoiseV);
  const rest = {
    reachedCutoff: false,
    crossingTimeS: null,
    crossingRow: null,
    dipRows: [],
    gaps,
    ...amountsToEnd(record, run, gaps),
  };
  const missing = {
    capacityAh: null,
    energyWh: null,
    standardUncertaintyAh: null,
    halfWidthAh: null,
    countedS: null,
    ...rest,
  };
  if (run.end - run.start < 2) return { ...missing, reason: 'too-few-samples' };
  if (cutoffVoltageV === null && definition !== 'whole-record')
    return { ...missing, reason: 'no-cutoff-stated' };
  const exact = definition !== 'first-sample-below';
  const whole = exact ? { ...run, lastLoadedRow: lastWholeRow(record, run) } : run;
  const found =
    cutoffVoltageV === null
      ? { crossing: null, dipRows: [] }
      : findCutoffCrossing(
          record,
          whole,
          cutoffVoltageV,
          quality,
          exact,
          exact ? undefined : run.start + UNTESTED_SAMPLES,
        );
  const { crossing, dipRows } = found;
  const reached = {
    reachedCutoff: crossing !== null,
    crossingTimeS: crossing?.timeS ?? null,
    crossingRow: crossing?.row ?? null,
    dipRows,
  };
  if (crossing === null && definition !== 'whole-record')
    return { ...missing, ...reached, reason: 'did-not-reach-cutoff' };
  const lastRow = definition === 'whole-record' ? run.lastLoadedRow : (crossing?.row ?? run.lastLoadedRow);
  if (gaps.some((gap) => gap.kind === 'unknown' && gap.row <= lastRow))
    return { ...missing, ...reached, reason: 'gap-in-record' };
  const until =
    definition === 'whole-record' || crossing === null
      ? null
      : exact
        ? crossing
        : { timeS: record.timeS[crossing.row], noiseS: 0, shapeS: 0 };
  const sum = runCharge(
    record,
    until === null ? run : whole,
    until,
    gaps,
    exact ? quality : { ...quality, offset: null, stuckLoad: null },
  );
  return {
    ...missing,
    ...reached,
    capacityAh: Math.max(0, sum.chargeAh),
    energyWh: Math.max(0, sum.energyWh),
    standardUncertaintyAh: sum.standardUncertaintyAh,
    halfWidthAh: sum.halfWidthAh,
    countedS: sum.countedS,
    reason: null,
  };
}

/** Charge and energy over all rows of a run as positive amounts; a pause without rows moves nothing. */
export function amountsToEnd(
  record: RecordColumns,
  run: ChargeRun,
  gaps: readonly RunGap[],
): Pick<DischargeCapacity, 'chargeToEndAh' | 'energyToEndWh'> {
  const sign = run.direction === 'charge' ? 1 : -1;
  const whole = chargeAndEnergy(record, run);
  let { chargeAh, energyWh } = whole;
  for (const gap of gaps) {
    if (gap.kind !== 'paused') continue;
    const across = chargeAndEnergy(record, { start: gap.row - 1, end: gap.row + 1 });
    chargeAh -= across.chargeAh;
    energyWh -= across.energyWh;
  }
  return { chargeToEndAh: Math.max(0, sign * chargeAh), energyToEndWh: Math.max(0, sign * energyWh) };
}
