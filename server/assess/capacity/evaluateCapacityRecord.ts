import {
  amountsToEnd,
  type CapacityDefinition,
  type ChargeRun,
  type CountingQuality,
  chargePhases,
  chargeTimes,
  contradictsVoltage,
  countingQuality,
  cycleEfficiencies,
  dischargeCapacity,
  findRuns,
  type RunGap,
  type RunStart,
  runCharge,
  runGaps,
  runStart,
} from '../../../fitting/capacity/index.ts';
import { isSlowRun } from '../../../fitting/open-circuit/index.ts';
import {
  findRecordIssue,
  findSteps,
  type RecordColumns,
  withoutBadRows,
} from '../../../fitting/records/index.ts';
import type { CapacityResult, CapacityRun } from '../../contract/capacity.ts';
import { findSlowCurve, presentSlowCurve } from '../open-circuit/slowOpenCircuit.ts';
import { capacityWarnings } from './capacityWarnings.ts';

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
export const CAPACITY_VERSION = '2.4.0';

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
  const { record: cleaned, bad } = withoutBadRows(record);
  const quality = countingQuality(cleaned);
  const runs = findRuns(cleaned, { restCurrentA: quality.restA + Math.abs(quality.offset?.valueA ?? 0) });
  const definition: CapacityDefinition =
    settings.cutoffVoltageV === null ? 'whole-record' : settings.definition;
  const described = runs.map((run, index) =>
    describeRun(cleaned, run, index, { ...settings, definition }, quality),
  );
  const results = described.map((one) => one.result);
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
    joined: null,
    definition,
    ratedCapacityAh: rated,
    plausibleUpToAh: rated === null ? null : PLAUSIBLE_SHARE_OF_RATED * rated,
    currentOffsetA: quality.offsetShows ? (quality.offset?.valueA ?? null) : null,
    runs: results,
    cycles,
    openCircuit: openCircuitOf(cleaned, results, settings),
    warnings: capacityWarnings({ described, runs, bad, quality, settings: { ...settings, definition } }),
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

/** A run as the contract has it, with the rows that something is to be said about. */
export interface DescribedRun {
  readonly result: CapacityRun;
  readonly gaps: readonly RunGap[];
  readonly dipRows: readonly number[];
}

function describeRun(
  record: RecordColumns,
  run: ChargeRun,
  index: number,
  settings: CapacitySettings,
  quality: CountingQuality,
): DescribedRun {
  const { ratedCapacityAh: rated, cutoffVoltageV } = settings;
  const discharge = run.direction === 'discharge';
  const start = runStart(record, run, quality.voltageNoiseV);
  const counted = discharge
    ? dischargeCapacity(record, run, cutoffVoltageV, settings.definition, quality)
    : chargePutIn(record, run, quality);
  const refusal = contradictsVoltage(record, run, quality.voltageNoiseV)
    ? ('voltage-against-current' as const)
    : !discharge && start !== 'in-record' && start !== 'fresh'
      ? ('starts-under-load' as const)
      : null;
  const found = refusal === null ? counted : { ...counted, ...noCapacity, reason: refusal };
  const meanCurrentA = meanLoadedCurrent(record, run);
  const implausible = implausibleReason(found.capacityAh, rated);
  const half = found.halfWidthAh;
  const phases = discharge || refusal !== null ? null : chargePhases(record, run);
  // The cut-off, or the hold at the limit, shows that a run came to its end.
  const ended = found.reachedCutoff || (phases !== null && phases.holdVoltageV !== null);
  const result: CapacityRun = {
    index,
    label: settings.labels?.[run.firstLoadedRow] ?? null,
    direction: run.direction,
    startRow: run.start,
    endRow: run.end,
    startTimeS: record.timeS[run.firstLoadedRow],
    endTimeS: record.timeS[run.lastLoadedRow],
    capacityAh: found.capacityAh,
    standardUncertaintyAh: found.standardUncertaintyAh,
    interval95Ah:
      found.capacityAh === null || half === null
        ? null
        : [Math.max(0, found.capacityAh - half), found.capacityAh + half],
    systematic: systematicOf(found, quality),
    start,
    conditional: found.capacityAh === null ? null : conditionOf(record, run, start, ended),
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
    phases,
    chargeTimes: discharge || refusal !== null ? [] : chargeTimes(record, run, null, 0, settings.socs),
  };
  return { result, gaps: found.gaps, dipRows: found.dipRows };
}

/** What no record can show of its instrument, beside the interval instead of in it. */
function systematicOf(
  { capacityAh, countedS }: Pick<ReturnType<typeof dischargeCapacity>, 'capacityAh' | 'countedS'>,
  { offset }: CountingQuality,
): CapacityRun['systematic'] {
  if (capacityAh === null || countedS === null) return null;
  return {
    perPercentOfGainAh: 0.01 * capacityAh,
    perMilliampOfOffsetAh: offset === null ? (0.001 * countedS) / 3600 : null,
  };
}

const noCapacity = {
  capacityAh: null,
  energyWh: null,
  standardUncertaintyAh: null,
  halfWidthAh: null,
  countedS: null,
} as const;

/** Whether what went before the record may belong to the run. */
/** What a capacity holds only under: the record has to hold the whole run. */
function conditionOf(
  { timeS }: RecordColumns,
  run: ChargeRun,
  start: RunStart,
  ended: boolean,
): CapacityRun['conditional'] {
  if (start === 'under-way' || start === 'unclear') return 'starts-under-load';
  return !ended && run.lastLoadedRow === timeS.length - 1 ? 'ends-under-load' : null;
}

/** The charge and energy that a charge put in. */
function chargePutIn(
  record: RecordColumns,
  run: ChargeRun,
  quality: CountingQuality,
): ReturnType<typeof dischargeCapacity> {
  const gaps = runGaps(record, run, quality.restA, quality.voltageNoiseV);
  const none = { reachedCutoff: false, crossingTimeS: null, crossingRow: null, dipRows: [], gaps };
  const toEnd = amountsToEnd(record, run, gaps);
  if (gaps.some((gap) => gap.kind === 'unknown'))
    return { ...noCapacity, ...none, ...toEnd, reason: 'gap-in-record' };
  const sum = runCharge(record, run, null, gaps, quality);
  return {
    capacityAh: Math.max(0, sum.chargeAh),
    energyWh: Math.max(0, sum.energyWh),
    standardUncertaintyAh: sum.standardUncertaintyAh,
    halfWidthAh: sum.halfWidthAh,
    countedS: sum.countedS,
    ...none,
    ...toEnd,
    reason: null,
  };
}

function implausibleReason(
  capacityAh: number | null,
  ratedAh: number | null,
): 'zero' | 'above-plausible-limit' | null {
  if (capacityAh === null) return null;
  if (capacityAh <= 0) return 'zero';
  return ratedAh !== null && capacityAh > PLAUSIBLE_SHARE_OF_RATED * ratedAh ? 'above-plausible-limit' : null;
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
