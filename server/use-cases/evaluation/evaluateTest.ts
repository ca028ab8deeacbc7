import { capacityAtAge } from '../../assess/parameters/ownScale.ts';
import { type Context, inTransaction, nowText } from '../../context.ts';
import type {
  Evaluation,
  EvaluationResult,
  EvaluationSettings,
  Test,
  TestStep,
} from '../../contract/tests.ts';
import { notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findCell } from '../../store/cells.ts';
import { findCellType } from '../../store/cellTypes.ts';
import { insertFit, supersedeOtherKinds, supersedeTestFits } from '../../store/fits.ts';
import { insertMeasurements, listMeasurements, type NewMeasurement } from '../../store/measurements.ts';
import type { Store } from '../../store/store.ts';
import { findTest, insertSteps, listRunsOf, markEvaluated, setEvaluatedWith } from '../../store/tests.ts';
import { recountStates } from '../parameters/recountStates.ts';
import { capacityMeasurements } from './capacityMeasurements.ts';
import { type EvaluationInput, inputOf, inputOfRuns } from './evaluationInput.ts';
import { impedanceMeasurements } from './impedanceMeasurements.ts';
import { type Leakage, leakageOf } from './leakageOf.ts';
import { pulseMeasurements, pulseSteps, withCountedStates } from './pulseMeasurements.ts';
import { readEvaluation } from './readEvaluation.ts';
import { restMeasurements } from './restMeasurements.ts';
import { gapBefore, testsTogether } from './runsTogether.ts';

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
