import { z } from 'zod';
import { chargeLogQuantity, chargeLogResult } from './chargeLogResult.ts';
import { chargeNote, chargeStudyDescription } from './chargeStudy.ts';
import { givenName, id, instant, pageOf, pageQuery } from './common.ts';

const notNegative = z.number().finite().nonnegative();

/** How logs are evaluated; what is left out has the same default as with `gemel evaluate charge`. */
export const stackLogSettings = z.strictObject({
  /** What is fitted of each cell; empty: compare only. */
  fit: z.array(chargeLogQuantity).default([]),
  /** Standard uncertainty of the constant error of a voltage channel; 1 mV where left out. */
  voltageOffsetV: notNegative.optional(),
  /** Of the current channel; 0.2 % of the largest current where left out. */
  currentOffsetA: notNegative.optional(),
  /** Standard uncertainty of the current channel's gain, relative; 0.001 where left out. */
  currentGain: notNegative.optional(),
  /** Of the open-circuit curve from SOC to SOC; where left out, what the study states, else 0. */
  ocvUncertaintyV: notNegative.optional(),
  /** Whether the stack was discharged to its cut-off just before each log: then a full charge counts its capacity. */
  startsEmpty: z.boolean().optional(),
  /** Rows before this time of each log take no part in residuals and fit. */
  fromS: notNegative.optional(),
});

/** Logs of one stack, beside the study that is drafted from the stack's own parameters, a kept one, or one that is handed over. */
export const evaluateStackLogs = stackLogSettings.extend({
  logIds: z.array(id).min(1).max(12),
  studyId: id.optional(),
  description: chargeStudyDescription.optional(),
  /** Names of a kept source, cable and converter for the study that is drafted from the stack. */
  source: givenName.optional(),
  cable: givenName.optional(),
  converter: givenName.optional(),
});
export type EvaluateStackLogs = z.infer<typeof evaluateStackLogs>;

const head = {
  id,
  stackId: id,
  stackName: z.string(),
  logIds: z.array(id),
  algorithm: z.string(),
  createdAt: instant,
  createdBy: z.string(),
  /** When a later evaluation of the same logs took its place, or the import of one of them was taken back. */
  supersededAt: instant.nullable(),
  /** The most important sentence. */
  verdict: z.string(),
};
export const stackLogEvaluationHead = z.object(head);
export const stackLogEvaluationPage = pageOf(stackLogEvaluationHead);
export const stackLogEvaluationQuery = pageQuery.extend({
  stackId: z.coerce.number().int().positive().optional(),
  logId: z.coerce.number().int().positive().optional(),
});

/** The sources of an evaluation. */
export const stackLogInputs = z.object({
  logs: z.array(z.object({ id, fileName: z.string(), sha256: z.string(), cycle: z.number().nullable() })),
  study: z.object({
    from: z.enum(['stack', 'kept-study', 'given']),
    studyId: id.nullable(),
    notes: z.array(chargeNote),
  }),
  description: chargeStudyDescription,
});

/** A stored evaluation; it is never changed. */
export const stackLogEvaluation = z.object({
  ...head,
  settings: stackLogSettings,
  inputs: stackLogInputs,
  result: chargeLogResult,
});
export type StackLogEvaluation = z.infer<typeof stackLogEvaluation>;
