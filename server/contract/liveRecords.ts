import { z } from 'zod';
import { id, problem } from './common.ts';
import { testKind } from './tests.ts';

/** A test whose samples come while it runs. */
export const openLiveTest = z
  .object({
    kind: testKind,
    label: z.string().max(200).default(''),
    temperatureC: z.number().min(-100).max(300).nullable().default(null),
    /** Whether the samples bring a temperature. */
    withTemperature: z.boolean().default(false),
  })
  .strict();

const column = z.array(z.number()).min(1).max(100_000);

/** Samples of an open test, current positive on charge. `firstRow` is the number of rows stored before them. */
export const liveSamples = z
  .object({
    firstRow: z.int().min(0),
    timeS: column,
    voltageV: column,
    currentA: column,
    temperatureC: column.optional(),
  })
  .strict();

/** How far an open test is: where the next batch has to begin. */
export const liveState = z.object({
  testId: id,
  state: z.enum(['open', 'sealed']),
  rowCount: z.int(),
  lastTimeS: z.number().nullable(),
  /** True where the batch was stored before and nothing was stored again. */
  repeated: z.boolean(),
});

/** Another key for each batch of a test: the same key again stores nothing. Of a closed test the keys of the last 10,000 rows are known. */
export const batchKey = z.string().regex(/^[\x21-\x7e]{1,200}$/, 'is not 1 to 200 visible ASCII characters');

/** A batch of samples of one of several open tests. */
export const liveBatch = liveSamples.extend({ testId: id, key: batchKey });

/** Batches of several open tests, as a tester with many channels sends them. */
export const liveBatches = z.object({ batches: z.array(liveBatch).min(1).max(1000) }).strict();

/** The outcome of each batch, in the order they were sent. A refused batch does not affect the others. */
export const liveBatchOutcomes = z.object({
  batches: z.array(
    z.discriminatedUnion('outcome', [
      z.object({ outcome: z.literal('stored'), state: liveState }),
      z.object({ outcome: z.literal('refused'), problem }),
    ]),
  ),
});

export type OpenLiveTest = z.infer<typeof openLiveTest>;
export type LiveSamples = z.infer<typeof liveSamples>;
export type LiveState = z.infer<typeof liveState>;
export type LiveBatchOutcomes = z.infer<typeof liveBatchOutcomes>;
