import { z } from 'zod';
import { readingOptions } from './readingOptions.ts';

/** A column map kept under a name and proposed again for files with the same header. */
export const columnMap = z.object({
  id: z.number().int(),
  name: z.string(),
  fingerprint: z.string(),
  reading: readingOptions,
  createdAt: z.string(),
  lastUsedAt: z.string().nullable(),
});

const mapName = z.string().min(1).max(200);
const headerFingerprintText = z.string().regex(/^[0-9a-f]{32}$/, 'must be 32 hexadecimal digits');

/** The header that a map is proposed for: itself, or its fingerprint as another installation gives it. Exactly one. */
export const newColumnMap = z
  .object({
    name: mapName,
    header: z.array(z.string()).min(1).max(512).optional(),
    fingerprint: headerFingerprintText.optional(),
    reading: readingOptions,
  })
  .strict();

/** Column maps as a file, for another installation. */
export const columnMapFile = z
  .object({
    schemaVersion: z.literal(1),
    maps: z
      .array(
        z.object({ name: mapName, fingerprint: headerFingerprintText, reading: readingOptions }).strict(),
      )
      .max(1000),
  })
  .strict();

export type ColumnMapFile = z.infer<typeof columnMapFile>;

export const columnMapList = z.object({ items: z.array(columnMap) });
