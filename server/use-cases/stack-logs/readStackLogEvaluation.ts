import type { Context } from '../../context.ts';
import { chargeLogResult } from '../../contract/chargeLogResult.ts';
import {
  type StackLogEvaluation,
  stackLogInputs,
  stackLogSettings,
} from '../../contract/stackLogEvaluations.ts';
import { notFound } from '../../errors.ts';
import { findFit } from '../../store/fits.ts';
import { findStackLogFit } from '../../store/stackLogFits.ts';
import { parseStored } from '../../store/storedJson.ts';

/** A stored evaluation of logs with its sources. @throws Refusal `not-found` */
export async function readStackLogEvaluation(context: Context, id: number): Promise<StackLogEvaluation> {
  const head = await findStackLogFit(context.store, id);
  const fit = head === null ? null : await findFit(context.store, id);
  if (head === null || fit === null) throw notFound('evaluation of stack logs', id);
  const what = `evaluation ${id}`;
  return {
    ...head,
    settings: parseStored(stackLogSettings, fit.settingsJson, `settings of ${what}`),
    inputs: parseStored(stackLogInputs, fit.inputsJson, `inputs of ${what}`),
    result: parseStored(chargeLogResult, fit.resultJson, `result of ${what}`),
  };
}
