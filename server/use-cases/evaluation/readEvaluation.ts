import type { z } from 'zod';
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
import { parseStored } from '../../store/storedJson.ts';

/** The valid evaluation of a test. */
export async function readEvaluation(context: Context, testId: number): Promise<Evaluation> {
  const fit = await findTestFit(context.store, testId);
  if (!fit) throw new Refusal('not-found', `Test ${testId} has not been evaluated.`);
  return presentEvaluation(fit);
}

/** Any evaluation by its fit, also one that was superseded. */
export async function readFit(context: Context, fitId: number): Promise<Evaluation> {
  const fit = await findFit(context.store, fitId);
  if (!fit) throw notFound('fit', fitId);
  return presentEvaluation(fit);
}

function presentEvaluation(fit: StoredFit): Evaluation {
  const { settingsJson, resultJson, inputsJson: _inputs, lotId: _lot, cellTypeId: _type, ...head } = fit;
  return {
    fit: head,
    settings: parse(evaluationSettings, settingsJson, fit),
    evaluation: parseResult(fit, resultJson),
  };
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
