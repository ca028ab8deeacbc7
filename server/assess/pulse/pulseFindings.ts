import { countingQuality } from '../../../fitting/capacity/index.ts';
import { fitPulses, type PulseCircuits } from '../../../fitting/circuit/index.ts';
import {
  type BadReading,
  type CurrentZero,
  type DerivedStartSoc,
  deriveStartSoc,
  dropBadRows,
  findSteps,
  type Pulse,
  type RecordColumns,
  type RepeatedColumn,
  requireSound,
  type SocTrace,
  type StepFinding,
  separatePulses,
  socTrace,
  withoutLateCurrent,
  withoutRepeats,
} from '../../../fitting/records/index.ts';
import { type PulseReading, pulseReading } from '../../../fitting/resistance/index.ts';
import type { PulseSettings } from '../../contract/pulseRecord.ts';
import { countingCapacityAh } from './countingCapacity.ts';

/** What was found in a record, before it is put into words and units of the contract. */
export interface PulseFindings {
  /** Without the rows of bad readings, and without those that repeat an earlier one or whose current is late. */
  readonly record: RecordColumns;
  /** Row of the record as it was given for a row of `record`. */
  readonly rowOf: (row: number) => number;
  readonly bad: readonly BadReading[];
  /** The column that is renewed more slowly than rows are written; null where there is none. */
  readonly repeated: RepeatedColumn | null;
  /** Rows of the record as it was given that were left out because their current is an earlier one's. */
  readonly late: readonly number[];
  readonly settings: PulseSettings;
  readonly finding: StepFinding;
  readonly pulses: readonly Pulse[];
  /** Short steps of current that the voltage does not follow. */
  readonly unanswered: readonly Pulse[];
  readonly circuits: PulseCircuits;
  /** Of the pulses, in their order. */
  readonly readings: readonly PulseReading[];
  readonly soc: SocTrace;
  /** State of charge at the first row, as the record shows it where none was stated. */
  readonly derivedStart: DerivedStartSoc | null;
}

/** Steps, pulses, circuits and SOC of a record. */
export function findInRecord(given: RecordColumns, settings: PulseSettings): PulseFindings {
  requireSound(given);
  const own = withoutRepeats(given);
  const sound = dropBadRows(own.record);
  const { record, rowOf: inSound, late } = withoutLateCurrent(sound.record);
  const bad = sound.bad.map((one) => ({ ...one, row: own.rowOf(one.row) }));
  const rowOf = (row: number): number => own.rowOf(sound.rowOf(inSound(row)));
  const finding = findSteps(record);
  const { minVoltageV, maxVoltageV, longestPulseS } = settings;
  const { pulses, unanswered } = separatePulses(record, finding, {
    minVoltageV,
    maxVoltageV,
    longestS: longestPulseS,
  });
  const { startSoc: stated } = settings;
  const capacityAh = countingCapacityAh(settings);
  const zero = zeroOf(record);
  const derivedStart =
    stated === null && capacityAh !== null && capacityAh > 0
      ? deriveStartSoc(record, finding.steps, { minVoltageV, maxVoltageV, capacityAh }, zero)
      : null;
  const startSoc = stated ?? derivedStart?.soc ?? null;
  const soc = socTrace(record, finding.steps, startSoc, capacityAh, zero);
  const circuits = fitPulses(record, finding, pulses, settings.maxBranches);
  const readings = pulses.map((pulse, index) =>
    pulseReading(record, finding, pulse, circuits.circuits[index], circuits.deadS),
  );
  return {
    record,
    rowOf,
    bad,
    repeated: own.repeated,
    late: late.map((row) => own.rowOf(sound.rowOf(row))),
    settings: { ...settings, startSoc },
    finding,
    pulses,
    unanswered,
    circuits,
    readings,
    soc,
    derivedStart,
  };
}

/** What the channel reads in rest, which is taken off before charge is counted, as for a capacity. */
function zeroOf(record: RecordColumns): CurrentZero | null {
  const { offset } = countingQuality(record);
  return (
    offset && {
      levelA: offset.valueA,
      standardUncertaintyA: Math.hypot(offset.normalA, offset.withinA / Math.sqrt(3)),
    }
  );
}
