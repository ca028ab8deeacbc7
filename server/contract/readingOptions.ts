import { z } from 'zod';
import { columnRole } from './columnRoles.ts';

/** What a file holds. */
export const fileKind = z.enum([
  'record',
  'stack-log',
  'cell-table',
  'cycle-table',
  'step-table',
  'impedance-table',
]);
export type FileKind = z.infer<typeof fileKind>;

/** Header names by role; null says that the file has no such column. */
export const columnChoice = z.record(columnRole, z.string().min(1).max(200).nullable());

/** Units by role, e.g. `{ current: 'mA', time: 'h', capacity: 'mAh' }`. */
export const unitChoice = z.record(columnRole, z.string().max(20));

export const currentSign = z.enum(['charge-positive', 'discharge-positive']);
/** What the imaginary part (or the phase) of a capacitive cell is in the file. */
export const imaginarySign = z.enum(['negative-capacitive', 'positive-capacitive']);

/** How a file is to be read. What is left out is found from the file. */
export const readingOptions = z
  .object({
    columns: columnChoice.optional(),
    units: unitChoice.optional(),
    currentSign: currentSign.optional(),
    imaginarySign: imaginarySign.optional(),
    runColumns: z.array(z.string().min(1).max(200)).max(8).optional(),
    delimiter: z.enum([',', ';', '\t', '|']).optional(),
    decimal: z.enum(['.', ',']).optional(),
    encoding: z.enum(['utf-8', 'windows-1252']).optional(),
    dateOrder: z
      .enum(['dmy', 'mdy'])
      .optional()
      .describe('Where the dates of the file leave day and month open'),
    segments: z
      .object({
        follow: z.enum(['gap', 'date', 'overlap']),
        gapS: z.number().min(0).max(1e9).optional(),
        column: z.string().min(1).max(200).optional(),
        dateColumn: z.string().min(1).max(200).optional(),
      })
      .strict()
      .optional()
      .describe('How segments of a run whose time starts again follow each other'),
    afterData: z
      .enum(['leave-out', 'refuse'])
      .optional()
      .describe(
        'Lines after the data that are not rows; where left out, texts are taken for a footer and a cut-off row refuses the file',
      ),
    sheet: z
      .string()
      .min(1)
      .max(200)
      .optional()
      .describe('Sheet of a workbook; the first one where left out'),
  })
  .strict();
export type ReadingOptions = z.infer<typeof readingOptions>;
