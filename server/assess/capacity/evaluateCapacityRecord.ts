import { capacityUncertainty } from '../../../fitting/capacity/capacityUncertainty.ts';
import { chargePhases } from '../../../fitting/capacity/chargePhases.ts';
import { chargeTimes } from '../../../fitting/capacity/chargeTimes.ts';
import { cycleEfficiencies } from '../../../fitting/capacity/cycleEfficiency.ts';
import { type ChargeRun, findRuns } from '../../../fitting/capacity/findRuns.ts';
import { chargeAndEnergy } from '../../../fitting/capacity/integrals.ts';
import { type CapacityDefinition, dischargeCapacity } from '../../../fitting/capacity/runCapacity.ts';
import { isSlowRun } from '../../../fitting/open-circuit/slowRanges.ts';
import { gapBefore } from '../../../fitting/records/gaps.ts';
import { findRecordIssue, type RecordColumns } from '../../../fitting/records/record.ts';
import { findSteps } from '../../../fitting/records/steps.ts';
import type { CapacityResult, CapacityRun } from '../../contract/capacity.ts';
import { findSlowCurve, presentSlowCurve } from '../open-circuit/slowOpenCircuit.ts';

/** Settings of a capacity evaluation. */
export interface CapacitySettings {
  /** Cut-off of discharges in V; null: the amounts of the whole record are given, with a warning. */
  readonly cutoffVoltageV: number | null;
  readonly definition: CapacityDefinition;
  readonly ratedCapacityAh: number | null;
  /** States of charge whose charge times are wanted, 0…1. */
  readonly socs?: readonly number[];
  /** The record's label for each row (a run or cycle number), where it has one. */
  readonly labels?: readonly string[];
}

/** Version of the evaluation: a change of any number it gives is a new version. */
export const CAPACITY_VERSION = '1.4.0';

/** A capacity above this multiple of the rated one cannot be: the run is marked. */
const PLAUSIBLE_SHARE_OF_RATED = 1.2;

/**
 * Capacity, energy, efficiencies, charge phases and charge times of every run of a record. A pure function of the
 * record, the settings and {@link CAPACITY_VERSION}.
 *
 * @throws RangeError naming column, row and value where the record is unfit, or the setting that cannot be
 */
export function evaluateCapacityRecord(record: RecordColumns, settings: CapacitySettings): CapacityResult {
  const issue = findRecordIssue(record);
  const rated = settings.ratedCapacityAh;
  if (rated !== null && !(rated > 0))
    throw new RangeError(`Rated capacity must be positive, got ${rated} Ah`);
  if (issue?.code === 'empty') throw new RangeError('The record holds no rows');
  const runs = findRuns(record);
  const definition: CapacityDefinition =
    settings.cutoffVoltageV === null ? 'whole-record' : settings.definition;
  const results = runs.map((run, index) => describeRun(record, run, index, { ...settings, definition }));
  const cycles = cycleEfficiencies(
    results.map((run) => ({
      direction: run.direction,
      chargeAh: run.capacityAh ?? run.chargeToEndAh,
      energyWh: run.energyWh ?? run.energyToEndWh,
    })),
  );
  return {
    schemaVersion: 1,
    algorithm: { name: 'capacity', version: CAPACITY_VERSION },
    rows: record.timeS.length,
    definition,
    ratedCapacityAh: rated,
    plausibleUpToAh: rated === null ? null : PLAUSIBLE_SHARE_OF_RATED * rated,
    runs: results,
    cycles,
    openCircuit: openCircuitOf(record, results, settings),
    warnings: warningsOf(record, results, runs, settings),
  };
}

/** The steps of a record are only looked for where a run is slow and long enough to give a curve. */
function openCircuitOf(
  record: RecordColumns,
  runs: readonly CapacityRun[],
  { ratedCapacityAh, cutoffVoltageV }: CapacitySettings,
): CapacityResult['openCircuit'] {
  if (ratedCapacityAh === null) return null;
  const slow = runs.some(
    (run) => run.rateC !== null && isSlowRun(run.rateC, run.chargeToEndAh / ratedCapacityAh),
  );
  if (!slow) return null;
  const curve = findSlowCurve(record, findSteps(record).steps, { ratedCapacityAh, cutoffVoltageV });
  return curve && presentSlowCurve(curve);
}

function describeRun(
  record: RecordColumns,
  run: ChargeRun,
  index: number,
  settings: CapacitySettings,
): CapacityRun {
  const { ratedCapacityAh: rated, cutoffVoltageV } = settings;
  const discharge = run.direction === 'discharge';
  const whole = chargeAndEnergy(record, run);
  const found = discharge
    ? dischargeCapacity(record, run, cutoffVoltageV, settings.definition)
    : {
        capacityAh: whole.chargeAh,
        energyWh: whole.energyWh,
        reachedCutoff: false,
        reason: null,
        crossingTimeS: null,
        crossingRow: null,
        chargeToEndAh: whole.chargeAh,
        energyToEndWh: whole.energyWh,
      };
  const meanCurrentA = meanLoadedCurrent(record, run);
  const amount = found.capacityAh;
  const implausible =
    amount === null
      ? null
      : amount <= 0
        ? ('zero' as const)
        : rated !== null && amount > PLAUSIBLE_SHARE_OF_RATED * rated
          ? ('above-plausible-limit' as const)
          : null;
  return {
    index,
    label: settings.labels?.[run.firstLoadedRow] ?? null,
    direction: run.direction,
    startRow: run.start,
    endRow: run.end,
    startTimeS: record.timeS[run.firstLoadedRow],
    endTimeS: record.timeS[run.lastLoadedRow],
    capacityAh: found.capacityAh,
    standardUncertaintyAh:
      found.capacityAh === null || found.crossingRow === null || settings.definition === 'whole-record'
        ? null
        : capacityUncertainty(record, run.firstLoadedRow, found.crossingRow),
    energyWh: found.energyWh,
    cutoffVoltageV: discharge ? cutoffVoltageV : null,
    reachedCutoff: found.reachedCutoff,
    reason: found.reason,
    crossingTimeS: found.crossingTimeS,
    chargeToEndAh: found.chargeToEndAh,
    energyToEndWh: found.energyToEndWh,
    meanCurrentA,
    rateC: rated === null ? null : Math.abs(meanCurrentA) / rated,
    ...temperatures(record, run),
    plausible: implausible === null,
    implausibleReason: implausible,
    phases: discharge ? null : chargePhases(record, run),
    chargeTimes: discharge ? [] : chargeTimes(record, run, null, 0, settings.socs),
  };
}

/** Rows of a run with a gap before them across which current flowed: what passed there is only a straight line. */
function rowsBehindGaps(record: RecordColumns, run: ChargeRun, meanCurrentA: number): number[] {
  const { timeS, currentA } = record;
  const flows = (row: number) => Math.abs(currentA[row]) > 0.02 * Math.abs(meanCurrentA);
  const rows: number[] = [];
  for (let row = run.firstLoadedRow + 1; row < Math.min(run.lastLoadedRow + 2, run.end); row++)
    if (gapBefore(timeS, row) > 0 && (flows(row - 1) || flows(row))) rows.push(row);
  return rows;
}

/** Mean of the current over the rows under load, in A. */
function meanLoadedCurrent(record: RecordColumns, run: ChargeRun): number {
  const opposite = new Set(run.oppositeRows);
  const sign = run.direction === 'charge' ? 1 : -1;
  let largest = 0;
  for (let i = run.firstLoadedRow; i <= run.lastLoadedRow; i++)
    if (!opposite.has(i)) largest = Math.max(largest, sign * record.currentA[i]);
  let sum = 0;
  let count = 0;
  for (let i = run.firstLoadedRow; i <= run.lastLoadedRow; i++) {
    if (opposite.has(i) || sign * record.currentA[i] < 0.02 * largest) continue;
    sum += record.currentA[i];
    count++;
  }
  return count === 0 ? 0 : sum / count;
}

function temperatures(
  record: RecordColumns,
  run: ChargeRun,
): Pick<CapacityRun, 'temperatureMeanC' | 'temperatureMaximumC'> {
  const column = record.temperatureC;
  if (column === undefined) return { temperatureMeanC: null, temperatureMaximumC: null };
  let sum = 0;
  let maximum = -Infinity;
  for (let i = run.firstLoadedRow; i <= run.lastLoadedRow; i++) {
    sum += column[i];
    maximum = Math.max(maximum, column[i]);
  }
  return {
    temperatureMeanC: sum / (run.lastLoadedRow - run.firstLoadedRow + 1),
    temperatureMaximumC: maximum,
  };
}

function warningsOf(
  record: RecordColumns,
  results: readonly CapacityRun[],
  runs: readonly ChargeRun[],
  settings: CapacitySettings,
): CapacityResult['warnings'] {
  const warnings: CapacityResult['warnings'] = [];
  const add = (
    code: CapacityResult['warnings'][number]['code'],
    which: readonly CapacityRun[],
    rows: number[] = [],
  ): void => {
    if (which.length > 0) warnings.push({ code, runs: which.map((run) => run.index), rows });
  };
  if (results.length === 0) warnings.push({ code: 'no-runs', runs: [], rows: [] });
  const discharges = results.filter((run) => run.direction === 'discharge');
  if (settings.cutoffVoltageV === null) add('cutoff-taken-from-record', discharges);
  add(
    'implausible-capacity',
    results.filter((run) => !run.plausible),
  );
  add(
    'did-not-reach-cutoff',
    results.filter((run) => run.reason === 'did-not-reach-cutoff'),
  );
  const gaps = results.map((run, k) => rowsBehindGaps(record, runs[k], run.meanCurrentA ?? 0));
  add(
    'gap-in-record',
    results.filter((_, k) => gaps[k].length > 0),
    gaps.flat(),
  );
  const interrupted = results.filter((_, k) => runs[k].oppositeRows.length > 0);
  add(
    'start-up-spike-ignored',
    interrupted,
    interrupted.flatMap((run) => [...runs[run.index].oppositeRows]),
  );
  return warnings;
}
