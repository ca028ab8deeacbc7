import { z } from 'zod';
import { id, instant, pageOf, pageQuery } from './common.ts';

export const exportFormat = z.enum([
  'parameters-json',
  'parameters-compact-json',
  'csv-package',
  'spice-subcircuit',
  'spice-test-bench',
  'c-header',
  'charge-profile-csv',
  'record-parquet',
  'record-csv',
]);
export const exportSubjectKind = z.enum([
  'cell',
  'pair',
  'stack',
  'lot',
  'cell-type',
  'test',
  'charge-study',
  'pairing',
]);

export const createExport = z.object({
  format: exportFormat,
  subjectKind: exportSubjectKind,
  subjectId: id,
  /** Puts records into the CSV package too. */
  withRecords: z.boolean().default(false),
  /** Direction of the pulses that circuit tables come from; where left out, charge if there are any, else discharge. */
  pulseDirection: z.enum(['charge', 'discharge']).optional(),
  /** What the rows of a charge profile go by. */
  profileAgainst: z.enum(['time', 'soc']).default('time'),
});

/** The path of a parameter set. */
export const parameterSetParameters = z.object({
  kind: z.enum(['cell', 'pair', 'stack', 'lot', 'pairing', 'cell-type']),
  id: z.coerce.number().int().positive(),
});

/** Which form of a parameter set: everything, or the tables without their derivation. */
export const parameterSetQuery = z.object({ form: z.enum(['full', 'compact']).default('full') });

export const exportEntry = z.object({
  id,
  format: exportFormat,
  subjectKind: exportSubjectKind,
  subjectId: id,
  fileName: z.string(),
  mediaType: z.string(),
  sha256: z.string(),
  bytes: z.int(),
  createdAt: instant,
  createdBy: z.string(),
});

export const exportQuery = pageQuery.extend({
  subjectKind: exportSubjectKind.optional(),
  subjectId: z.coerce.number().int().optional(),
});
export const exportPage = pageOf(exportEntry);

export type ExportFormat = z.infer<typeof exportFormat>;
export type ExportSubjectKind = z.infer<typeof exportSubjectKind>;
export type CreateExport = z.infer<typeof createExport>;
export type ExportEntry = z.infer<typeof exportEntry>;
