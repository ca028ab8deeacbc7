import { z } from 'zod';

// What the client reads of answers: it knows the interface only by its description, and nothing of the service's code.

const id = z.number();

export const withId = z.object({ id });
export const withState = z.object({ state: z.string() });
export const liveTest = z.object({ testId: id, rowCount: z.number() });
export const problem = z.object({ code: z.string(), detail: z.string() });

export const report = z.object({
  state: z.string(),
  sourceFileId: id.nullable(),
  runs: z.array(z.object({ testId: id.nullable() })),
});

export const job = z.object({
  id,
  state: z.string(),
  error: z.string().nullable(),
  result: z.object({ reports: z.array(report).optional(), pairingId: id.optional() }).nullable(),
});
export type AnsweredJob = z.infer<typeof job>;

export const pairing = z.object({ pairs: z.array(z.object({ id, version: z.number() })) });
export const stack = z.object({
  id,
  version: z.number(),
  name: z.string(),
  cells: z.array(z.object({ serial: z.string() })),
});
export const series = z.object({
  columns: z.array(z.object({ unit: z.string(), values: z.array(z.number().nullable()) })),
});
export const importedFile = z.object({ fileName: z.string(), state: z.string() });
export const cell = z.object({ serial: z.string(), state: z.string() });
export const chemistries = z.object({ items: z.array(withId).min(1) });
export const list = z.object({ items: z.array(z.unknown()), nextCursor: z.string().nullable() });
