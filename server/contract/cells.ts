import { z } from 'zod';
import { givenName, id, instant, pageOf, pageQuery, quantityValue, remark, version } from './common.ts';

/** available: may be paired; set-aside: not offered, with a reason; in-stack: built into a stack; retired: out of use. */
export const cellState = z.enum(['available', 'set-aside', 'in-stack', 'retired']);

const cellFields = z.object({
  lotId: id,
  serial: givenName,
  note: remark.default(''),
});

export const cell = cellFields.extend({
  id,
  version,
  state: cellState,
  stateReason: z.string().nullable(),
  createdAt: instant,
  lotName: z.string(),
  cellTypeId: id,
  cellTypeName: z.string(),
  testCount: z.int(),
  stackId: id.nullable(),
  stackName: z.string().nullable(),
});

export const createCell = cellFields;

/** A cell is set aside, taken back or retired with a reason; a cell in a stack leaves it only with the stack. */
export const changeCell = z
  .object({
    note: remark,
    state: z.enum(['available', 'set-aside', 'retired']),
    stateReason: z.string().max(400).nullable(),
  })
  .partial();

/** A row of the lot's table: the cell and its current values by column key. */
export const cellRow = z.object({
  id,
  serial: z.string(),
  state: cellState,
  stateReason: z.string().nullable(),
  version,
  testCount: z.int(),
  /** With the measurement that each value is, so that one click leads to its origin. */
  values: z.record(z.string(), quantityValue.extend({ measurementId: id.nullable() })),
});

export const cellQuery = pageQuery.extend({
  limit: z.coerce.number().int().min(1).max(5000).default(50),
  search: z.string().max(120).optional(),
  state: cellState.optional(),
  /** `serial`, `state`, `tests` or a column key; a leading minus sorts downwards. */
  sort: z.string().max(120).default('serial'),
  /** Keys of the columns whose values are wanted, comma-separated. */
  columns: z.string().max(2000).optional(),
});

/** A list of cells across lots. */
export const cellListQuery = pageQuery.extend({
  search: z.string().max(120).optional(),
  state: cellState.optional(),
  lotId: z.coerce.number().int().optional(),
  /** Only available cells without a capacity or without a resistance. */
  lacking: z.stringbool().default(false),
});
export const cellRowPage = pageOf(cellRow);
export const cellPage = pageOf(cell);

/** Everything that happened to a cell or a stack, newest first. */
export const historyEntry = z.object({
  at: instant,
  kind: z.enum([
    'created',
    'imported',
    'test',
    'evaluated',
    'state',
    'pairing',
    'stack',
    'note',
    'change',
    'export',
  ]),
  /** Code of what happened, e.g. `cell.set-aside`. */
  action: z.string(),
  actor: z.string(),
  subjectKind: z.string(),
  subjectId: id.nullable(),
  detail: z.record(z.string(), z.union([z.string(), z.number(), z.boolean(), z.null()])),
});
export const history = z.object({ items: z.array(historyEntry) });

/** A note or photo kept with a cell or a stack. */
export const attachment = z.object({
  id,
  name: z.string(),
  mediaType: z.string(),
  text: z.string().nullable(),
  bytes: z.int(),
  createdAt: instant,
  createdBy: z.string(),
});
export const attachmentList = z.object({ items: z.array(attachment) });
export const createNote = z.object({ text: remark.min(1, 'a note needs some text') });

export type CellState = z.infer<typeof cellState>;
export type Cell = z.infer<typeof cell>;
export type CellRow = z.infer<typeof cellRow>;
export type CellQuery = z.infer<typeof cellQuery>;
export type ChangeCell = z.infer<typeof changeCell>;
export type CreateCell = z.infer<typeof createCell>;
export type HistoryEntry = z.infer<typeof historyEntry>;
export type Attachment = z.infer<typeof attachment>;
