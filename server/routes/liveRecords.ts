import type { Request } from 'express';
import { z } from 'zod';
import {
  batchKey,
  type LiveBatchOutcomes,
  liveBatch,
  liveBatches,
  liveSamples,
} from '../contract/liveRecords.ts';
import { fieldError, Refusal } from '../errors.ts';
import { problemOf, toRefusal } from '../problem.ts';
import { appendLiveSamples } from '../use-cases/imports/appendLiveSamples.ts';
import { closeLiveTest, openLiveTest, readLiveTest } from '../use-cases/imports/liveTest.ts';
import { sentenceOf, wrongFields } from '../wrongFields.ts';
import { defineRawRoute, defineRoute, type Route } from './route.ts';

export const liveRecordRoutes: readonly Route[] = [
  defineRoute('POST /cells/{id}/live-tests', {
    role: 'operator',
    handle: async ({ context, params, body }) => openLiveTest(context, params.id, body),
  }),
  defineRoute('GET /tests/{id}/samples', {
    role: 'reader',
    handle: async ({ context, params }) => readLiveTest(context, params.id),
  }),
  defineRawRoute('POST /tests/{id}/samples', {
    role: 'operator',
    handleRaw: async ({ context, params }, request, response) => {
      const key = batchKeyOf(request);
      const samples = parseSamples(liveSamples, request.body ?? {}, 'body');
      response.json(await appendLiveSamples(context, { testId: params.id, key, samples }));
    },
  }),
  defineRawRoute('POST /live-samples', {
    role: 'operator',
    handleRaw: async ({ context, reportFault }, request, response) => {
      // Each batch is parsed by itself, so that one channel without a reading does not hold up its whole tester.
      const { batches } = parseSamples(anyBatches, request.body ?? {}, 'body');
      const answer: LiveBatchOutcomes = {
        batches: await Promise.all(
          batches.map(async (given) => {
            try {
              const { testId, key, ...samples } = parseSamples(liveBatch, given, 'batch');
              const state = await appendLiveSamples(context, { testId, key, samples });
              return { outcome: 'stored' as const, state };
            } catch (error) {
              const refusal = toRefusal(error);
              if (refusal.code === 'internal') reportFault(error);
              return { outcome: 'refused' as const, problem: problemOf(refusal) };
            }
          }),
        ),
      };
      response.json(answer);
    },
  }),
  defineRoute('POST /tests/{id}/close', {
    role: 'operator',
    handle: async ({ context, params }) => closeLiveTest(context, params.id),
  }),
];

const anyBatches = liveBatches.extend({ batches: z.array(z.unknown()).min(1).max(1000) });

/** @throws Refusal `invalid-request` naming every field that is wrong */
function parseSamples<Schema extends z.ZodType>(
  schema: Schema,
  given: unknown,
  whole: string,
): z.output<Schema> {
  const parsed = schema.safeParse(given);
  if (parsed.success) return parsed.data;
  const places = wrongFields(parsed.error, given, whole, schema);
  throw new Refusal('invalid-request', `The samples cannot be read: ${sentenceOf(places)}`, places);
}

/** The key of a batch of samples or rows. @throws Refusal `invalid-request` where it is missing or not usable */
export function batchKeyOf(request: Request): string {
  const key = request.get('Idempotency-Key');
  if (batchKey.safeParse(key).success) return key as string;
  throw new Refusal('invalid-request', 'A batch of samples needs an Idempotency-Key.', [
    fieldError(
      'Idempotency-Key',
      key,
      'missing or not usable',
      '1 to 200 visible ASCII characters, another for each batch',
    ),
  ]);
}
