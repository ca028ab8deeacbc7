import { z } from 'zod';
import { id, instant } from './common.ts';
import { importOptions } from './import.ts';

/** How the rows of a live stack log are read and what is known of it; as for a file. */
export const liveLogOptions = importOptions
  .pick({
    lot: true,
    label: true,
    cycle: true,
    efc: true,
    startedAt: true,
    temperatureC: true,
    currentSign: true,
    columns: true,
    units: true,
  })
  .strict();

/** A stack log whose rows come while the charge runs. */
export const openLiveLog = liveLogOptions.extend({
  /** Header names with their units, as a file would have them: Time (s), I stack (A), V cell 1 (V) … */
  header: z.array(z.string().min(1).max(120)).min(3).max(64),
});
export type OpenLiveLog = z.infer<typeof openLiveLog>;

/** Rows of an open log, a number for each column. `firstRow` is the number of rows stored before them. */
export const liveLogRows = z.strictObject({
  firstRow: z.int().min(0),
  rows: z.array(z.array(z.number()).max(64)).min(1).max(10_000),
});
export type LiveLogRows = z.infer<typeof liveLogRows>;

/** How far a live log is: where the next rows have to begin. */
export const liveLogState = z.object({
  id,
  stackId: id,
  state: z.enum(['open', 'closed']),
  rowCount: z.int(),
  lastTimeS: z.number().nullable(),
  openedAt: instant,
  openedBy: z.string(),
  /** The log that it became when it was closed. */
  stackLogId: id.nullable(),
  /** True where the rows were stored before and nothing was stored again. */
  repeated: z.boolean(),
});
/** The live logs of a stack that are still open, among them those whose sender was cut off; the newest come first. */
export const openLiveLogs = z.object({ items: z.array(liveLogState) });
export type LiveLogState = z.infer<typeof liveLogState>;
