import { z } from 'zod';
import { testKind } from './tests.ts';

export const namePattern = z.object({
  id: z.number().int(),
  name: z.string(),
  pattern: z.string(),
  createdAt: z.string(),
});
export const namePatternList = z.object({ items: z.array(namePattern) });
export const newNamePattern = z
  .object({ name: z.string().min(1).max(200), pattern: z.string().min(1).max(500) })
  .strict();
/** A pattern tried on a list of names before it is used. */
export const namePatternTrial = z
  .object({ pattern: z.string().min(1).max(500), names: z.array(z.string().max(500)).min(1).max(2000) })
  .strict();
export const namePatternResult = z.object({
  items: z.array(
    z.object({
      name: z.string(),
      matches: z.boolean(),
      cell: z.string().nullable(),
      testKind: testKind.nullable(),
      temperatureC: z.number().nullable(),
      startSoc: z.number().nullable(),
      label: z.string().nullable(),
    }),
  ),
});
