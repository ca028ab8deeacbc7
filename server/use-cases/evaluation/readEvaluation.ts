import type { z } from 'zod';
import { capacityAtAge, pulseRecordOnScale } from '../../assess/parameters/ownScale.ts';
import type { Context } from '../../context.ts';
import { capacityResult } from '../../contract/capacity.ts';
import { impedanceResult } from '../../contract/impedance.ts';
import { evaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import {
  type Evaluation,
  type EvaluationResult,
  evaluationSettings,
  restResult,
} from '../../contract/tests.ts';
import { notFound, Refusal } from '../../errors.ts';
import { findFit, findTestFit, type StoredFit } from '../../store/fits.ts';
import { listMeasurements } from '../../store/measurements.ts';
import { parseStored } from '../../store/storedJson.ts';
import { findTest } from '../../store/tests.ts';
import { leadOf } from './runsTogether.ts';

/** The valid evaluation of a test. */
export async function readEvaluation(context: Context, testId: number): Promise<Evaluation> {
  const fit = await findTestFit(context.store, await leadOf(context.store, testId));
  if (!fit) throw new Refusal('not-found', `Test ${testId} has not been evaluated.`);
  return presentEvaluation(context, fit);
}

/** Any evaluation by its fit, also one that was superseded. */
export async function readFit(context: Context, fitId: number): Promise<Evaluation> {
  const fit = await findFit(context.store, fitId);
  if (!fit) throw notFound('fit', fitId);
  return presentEvaluation(context, fit);
}

/** An evaluation as it reads today: its states of charge are on the cell's own scale, also where that was measured later. */
async function presentEvaluation(context: Context, fit: StoredFit): Promise<Evaluation> {
  const { settingsJson, resultJson, inputsJson: _inputs, lotId: _lot, cellTypeId: _type, ...head } = fit;
  return {
    fit: head,
    settings: parse(evaluationSettings, settingsJson, fit),
    evaluation: onScale(parseResult(fit, resultJson), await ownCapacityAh(context, fit)),
  };
}

function onScale(evaluation: EvaluationResult, own: number | null): EvaluationResult {
  return evaluation.kind === 'pulse'
    ? { kind: 'pulse', result: pulseRecordOnScale(evaluation.result, own) }
    : evaluation;
}

async function ownCapacityAh({ store }: Context, fit: StoredFit): Promise<number | null> {
  if (fit.kind !== 'pulse' || fit.testId === null || fit.cellId === null) return null;
  const test = await findTest(store, fit.testId);
  return (
    capacityAtAge(await listMeasurements(store, fit.cellId, 'capacity'), test?.cycle ?? null)?.value ?? null
  );
}

function parseResult(fit: StoredFit, json: string): EvaluationResult {
  switch (fit.kind) {
    case 'pulse':
      return { kind: 'pulse', result: parse(evaluatedPulseRecord, json, fit) };
    case 'capacity':
      return { kind: 'capacity', result: parse(capacityResult, json, fit) };
    case 'rest':
      return { kind: 'rest', result: parse(restResult, json, fit) };
    case 'impedance':
      return { kind: 'impedance', result: parse(impedanceResult, json, fit) };
    default:
      throw new Refusal(
        'not-found',
        `Fit ${fit.id} is not the evaluation of a test but of kind ${fit.kind}.`,
      );
  }
}

function parse<T>(schema: z.ZodType<T>, json: string, fit: StoredFit): T {
  return parseStored(schema, json, `result of fit ${fit.id}`);
}
