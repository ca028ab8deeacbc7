import type { RecordColumns } from '../../../fitting/records/record.ts';
import { evaluateCapacityRecord } from '../../assess/capacity/evaluateCapacityRecord.ts';
import { evaluateImpedance } from '../../assess/impedance/evaluateImpedance.ts';
import { evaluateRestRecord } from '../../assess/open-circuit/evaluateRestRecord.ts';
import { capacityAtAge } from '../../assess/parameters/ownScale.ts';
import { evaluatePulseRecord } from '../../assess/pulse/evaluatePulseRecord.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type { CapacityResult } from '../../contract/capacity.ts';
import type { JoinedRuns } from '../../contract/joinedRuns.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type {
  Evaluation,
  EvaluationResult,
  EvaluationSettings,
  RestResult,
  Test,
  TestStep,
} from '../../contract/tests.ts';
import { notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { insertFit, supersedeOtherKinds, supersedeTestFits } from '../../store/fits.ts';
import { insertMeasurements, listMeasurements, type NewMeasurement } from '../../store/measurements.ts';
import { findRecord, readRecord } from '../../store/records.ts';
import { findTestRows } from '../../store/sourceFiles.ts';
import type { Store } from '../../store/store.ts';
import { listSweeps, type StoredSweep } from '../../store/sweeps.ts';
import { findTest, insertSteps, listRunsOf, markEvaluated, setEvaluatedWith } from '../../store/tests.ts';
import { recountStates } from '../parameters/recountStates.ts';
import { capacityMeasurements } from './capacityMeasurements.ts';
import { impedanceMeasurements } from './impedanceMeasurements.ts';
import { type Leakage, leakageOf } from './leakageOf.ts';
import { type FileLine, pulseMeasurements, pulseSteps, withCountedStates } from './pulseMeasurements.ts';
import { readEvaluation } from './readEvaluation.ts';
import { restMeasurements } from './restMeasurements.ts';
import { fileLines, gapBefore, readTogether, testOfRow, testsTogether } from './runsTogether.ts';
import { startSocOfColumn, withChargeCounter } from './withChargeCounter.ts';

/**
 * Evaluates a test's record, or its impedance spectra, by its kind and stores fit, steps and measurements in one
 * transaction. What an earlier evaluation of the test gave is superseded, never changed. A record that cannot be
 * evaluated leaves its reason with the test, and the earlier evaluation in force.
 *
 * @throws Refusal `not-evaluable` with the reason
 */
export async function evaluateTest(
  context: Context,
  testId: number,
  asked: EvaluationSettings = {},
): Promise<Evaluation> {
  const { store } = context;
  const found = await findTest(store, testId);
  if (!found) throw notFound('test', testId);
  const together = await testsTogether(store, found, asked.together);
  // The first of the runs has the result; what it is a test of is what the one is that was asked for.
  const test = { ...together[0], kind: found.kind };
  const runGapS = asked.runGapS ?? (await gapBefore(store, found));
  const input =
    together.length === 1 ? await inputOf(store, test) : await inputOfRuns(store, test, together, runGapS);
  const own =
    together.length === 1 ? asked : { ...asked, together: true, ...(runGapS === null ? {} : { runGapS }) };
  const settings = await withDefaults(context, test, own);
  const capacities = await listMeasurements(store, test.cellId, 'capacity');
  const ownCapacityAh = capacityAtAge(capacities, test.cycle)?.value ?? null;
  const at = nowText(context);
  let result: EvaluationResult;
  try {
    result = await input.compute(settings, ownCapacityAh);
  } catch (error) {
    // Only what the evaluation says about the record is the test's own; anything else is a fault of the program.
    if (!(error instanceof RangeError)) throw error;
    await store.transaction(async (store) => markEvaluated(store, found.id, at, error.message));
    throw new Refusal('not-evaluable', `Test ${testId} cannot be evaluated: ${error.message}`);
  }
  const leakage = result.kind === 'rest' ? await leakageOf(context, test.cellId, result.result) : null;
  await inTransaction(context, async (context) => {
    const fitId = await insertFit(context.store, {
      kind: result.kind,
      testId: test.id,
      cellId: test.cellId,
      algorithm: result.result.algorithm.name,
      algorithmVersion: result.result.algorithm.version,
      settings,
      inputs: {
        testId: test.id,
        ...(together.length === 1 ? {} : { testIds: together.map(({ id }) => id) }),
        sourceFileId: test.sourceFileId,
        rowCount: input.rowCount,
        ownCapacityAh,
        ...leakage?.inputs,
      },
      result: result.result,
      createdAt: at,
      createdBy: context.actor.name,
    });
    await supersedeOtherKinds(context.store, test.id, result.kind, fitId, at);
    await keepTogether(context.store, found, together, fitId, at);
    await insertSteps(context.store, test.id, fitId, stepsOf(result));
    await insertMeasurements(context.store, measurementsOf(result, input, leakage, test, fitId), at);
    if (result.kind !== 'rest') await recountStates(context.store, test.cellId);
    for (const { id } of together) await markEvaluated(context.store, id, at, null);
    await insertAudit(context.store, {
      at,
      actor: context.actor.name,
      action: 'test.evaluated',
      subjectKind: 'test',
      subjectId: test.id,
      detail: { kind: result.kind, fit: fitId, version: result.result.algorithm.version },
    });
  });
  return readEvaluation(context, test.id);
}

/**
 * Notes which runs are evaluated as one record from now on: their own evaluations are superseded by it. Where a test is
 * evaluated alone that was evaluated with others before, each of those is to be evaluated alone again.
 */
async function keepTogether(
  store: Store,
  asked: Test,
  together: readonly Test[],
  fitId: number,
  at: string,
): Promise<void> {
  if (together.length > 1) {
    const ids = together.map(({ id }) => id);
    await setEvaluatedWith(store, ids, ids[0], asked.kind);
    await supersedeTestFits(store, ids, fitId, at);
    return;
  }
  if (asked.evaluatedWithId === null || asked.sourceFileId === null) return;
  const others = (await listRunsOf(store, asked.sourceFileId, asked.cellId)).filter(
    ({ evaluatedWithId }) => evaluatedWithId === asked.evaluatedWithId,
  );
  const ids = others.map(({ id }) => id);
  await setEvaluatedWith(store, ids, null);
  await supersedeTestFits(store, ids, fitId, at);
  for (const id of ids) await markEvaluated(store, id, null, null);
}

/** The sources of an evaluation. */
interface EvaluationInput {
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
async function inputOf(store: Store, test: Test): Promise<EvaluationInput> {
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
async function inputOfRuns(
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

/** What is asked, or else what is known of the test and its cell type. */
async function withDefaults(
  context: Context,
  test: Test,
  asked: EvaluationSettings,
): Promise<EvaluationSettings> {
  const cell = await findCell(context.store, test.cellId);
  const cellType = cell ? await findCellType(context.store, cell.cellTypeId) : null;
  return {
    ...(cellType
      ? {
          ratedCapacityAh: cellType.ratedCapacityAh,
          cutoffVoltageV: cellType.limits.dischargeCutoffV,
          minVoltageV: cellType.limits.dischargeCutoffV,
          maxVoltageV: cellType.limits.chargeVoltageLimitV,
        }
      : {}),
    ...(test.startSoc === null ? {} : { startSoc: test.startSoc }),
    ...asked,
  };
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

function stepsOf(result: EvaluationResult): TestStep[] {
  return result.kind === 'pulse' ? pulseSteps(result.result) : [];
}

function measurementsOf(
  result: EvaluationResult,
  { sweeps, fileLine, of }: EvaluationInput,
  leakage: Leakage | null,
  test: Test,
  fitId: number,
): NewMeasurement[] {
  switch (result.kind) {
    case 'pulse':
      return withCountedStates(pulseMeasurements(result.result, test, fitId, fileLine, of), result.result);
    case 'capacity':
      return capacityMeasurements(result.result, test, fitId, of);
    case 'impedance':
      return impedanceMeasurements(result.result, sweeps, test, fitId);
    case 'rest':
      if (leakage === null) throw new Error('a rest was evaluated without its leakage');
      return restMeasurements(result.result, leakage, test, fitId);
  }
}
