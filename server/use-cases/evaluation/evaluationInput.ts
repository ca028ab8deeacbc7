import type { RecordColumns } from '../../../fitting/records/index.ts';
import { evaluateCapacityRecord } from '../../assess/capacity/evaluateCapacityRecord.ts';
import { evaluateImpedance } from '../../assess/impedance/evaluateImpedance.ts';
import { evaluateRestRecord } from '../../assess/open-circuit/evaluateRestRecord.ts';
import { evaluatePulseRecord } from '../../assess/pulse/evaluatePulseRecord.ts';
import type { CapacityResult } from '../../contract/capacity.ts';
import type { JoinedRuns } from '../../contract/joinedRuns.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type { EvaluationResult, EvaluationSettings, RestResult, Test } from '../../contract/tests.ts';
import { Refusal } from '../../errors.ts';
import { findRecord, readRecord } from '../../store/records.ts';
import { findTestRows } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import { listSweeps, type StoredSweep } from '../../store/sweeps.ts';
import type { FileLine } from './pulseMeasurements.ts';
import { fileLines, readTogether, testOfRow } from './runsTogether.ts';
import { startSocOfColumn, withChargeCounter } from './withChargeCounter.ts';

/** The sources of an evaluation. */
export interface EvaluationInput {
  readonly rowCount: number;
  /** The line of the file in which a row of the record stands; null where rows and lines do not go side by side. */
  readonly fileLine: FileLine;
  /** The test that a row of the record came from: another than the evaluated one where several make the record. */
  readonly of?: (row: number) => Test;
  /** Spectra of an impedance test; none where it is based on a record. */
  readonly sweeps: readonly StoredSweep[];
  /**
   * @param ownCapacityAh as measured of the cell at the age of the test; null where it was not
   * @throws RangeError for what the samples or the settings say
   */
  readonly compute: (settings: EvaluationSettings, ownCapacityAh: number | null) => Promise<EvaluationResult>;
}

/** The test's spectra, or else its record. @throws Refusal `not-evaluable` where it has neither, or is still open */
export async function inputOf(store: Store, test: Test): Promise<EvaluationInput> {
  const sweeps = test.kind === 'impedance' ? await listSweeps(store, test.id) : [];
  if (sweeps.length > 0) {
    const cell = test.cellSerial;
    return {
      rowCount: sweeps.reduce((sum, { spectrum }) => sum + spectrum.frequencyHz.length, 0),
      fileLine: () => null,
      sweeps,
      compute: async (settings, ownCapacityAh) => ({
        kind: 'impedance',
        result: evaluateImpedance(
          sweeps.map((sweep) => ({ ...sweep, cell, temperatureC: sweep.temperatureC ?? test.temperatureC })),
          { ...settings, measuredCapacityAh: ownCapacityAh ?? undefined },
        ),
      }),
    };
  }
  const record = await findRecord(store, test.id);
  if (!record) throw new Refusal('not-evaluable', `Test ${test.id} has no record to evaluate.`);
  if (record.state === 'open') {
    throw new Refusal(
      'not-evaluable',
      `Test ${test.id} still takes samples; close it before it is evaluated.`,
    );
  }
  const lines = await findTestRows(store, test.id);
  const { first, last } = lines ?? { first: null, last: null };
  const sideBySide = first !== null && last !== null && last - first + 1 === record.rowCount;
  return {
    rowCount: record.rowCount,
    fileLine: (row) => (sideBySide ? first + row : null),
    sweeps,
    compute: async (settings, ownCapacityAh) => {
      const columns = await readRecord(store, record);
      const startSoc = settings.startSoc ?? (await startSocOfColumn(store, record)) ?? undefined;
      const counted = test.kind === 'rest' ? columns : await withChargeCounter(store, record, columns);
      return compute(test, counted, { ...settings, startSoc }, ownCapacityAh);
    },
  };
}

/** The record that several runs of a file make together. */
export async function inputOfRuns(
  store: Store,
  test: Test,
  tests: readonly Test[],
  runGapS: number | null,
): Promise<EvaluationInput> {
  const record = await readTogether(store, tests, runGapS);
  return {
    rowCount: record.columns.timeS.length,
    fileLine: await fileLines(store, record),
    sweeps: [],
    of: (row) => testOfRow(record, row),
    compute: async (settings, ownCapacityAh) => {
      if (record.broken !== null) throw new RangeError(record.broken);
      const first = await findRecord(store, tests[0].id);
      const startSoc = settings.startSoc ?? (first && (await startSocOfColumn(store, first))) ?? undefined;
      const evaluated = compute(test, record.columns, { ...settings, startSoc }, ownCapacityAh);
      return withJoined(evaluated, record.joined);
    },
  };
}

/** The result with how its record was put together. */
function withJoined(evaluated: EvaluationResult, joined: JoinedRuns | null): EvaluationResult {
  switch (evaluated.kind) {
    case 'pulse':
      return {
        kind: 'pulse',
        result: { ...evaluated.result, record: { ...evaluated.result.record, joined } },
      };
    case 'capacity':
      return { kind: 'capacity', result: { ...evaluated.result, joined } };
    default:
      return evaluated;
  }
}

function compute(
  test: Test,
  record: RecordColumns,
  settings: EvaluationSettings,
  ownCapacityAh: number | null,
): EvaluationResult {
  switch (test.kind) {
    case 'pulse':
      return { kind: 'pulse', result: pulse(test, record, settings, ownCapacityAh) };
    case 'rest':
      return { kind: 'rest', result: rest(record) };
    case 'capacity':
    case 'cycling':
      return { kind: 'capacity', result: capacity(record, settings) };
    case 'impedance':
      throw new RangeError(
        'an impedance test is evaluated from a table of impedance over frequency; this one has a record over time',
      );
  }
}

function pulse(
  test: Test,
  record: RecordColumns,
  settings: EvaluationSettings,
  ownCapacityAh: number | null,
): EvaluatedPulseRecord {
  return evaluatePulseRecord(record, {
    ratedCapacityAh: settings.ratedCapacityAh ?? null,
    cellCapacityAh: settings.cellCapacityAh ?? ownCapacityAh,
    cellCapacityBasis: settings.cellCapacityAh === undefined ? 'measured' : 'stated',
    startSoc: settings.startSoc ?? null,
    ...(settings.durationsS ? { durationsS: settings.durationsS } : {}),
    ...(settings.maxBranches === undefined ? {} : { maxBranches: settings.maxBranches }),
    minVoltageV: settings.minVoltageV ?? null,
    maxVoltageV: settings.maxVoltageV ?? null,
    fixtureResistanceOhm: test.fixtureOhm,
    fixtureStandardUncertaintyOhm: test.fixtureUncertaintyOhm,
  });
}

function rest(record: RecordColumns): RestResult {
  return evaluateRestRecord(record);
}

function capacity(record: RecordColumns, settings: EvaluationSettings): CapacityResult {
  return evaluateCapacityRecord(record, {
    cutoffVoltageV: settings.cutoffVoltageV ?? null,
    definition: 'interpolated-crossing',
    ratedCapacityAh: settings.ratedCapacityAh ?? null,
  });
}
