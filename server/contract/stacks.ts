import { z } from 'zod';
import { givenName, id, instant, pageOf, pageQuery, quantityValue, remark, version } from './common.ts';

/** planned: from an accepted pair, can be undone; built: welded together; retired: taken apart or out of use. */
export const stackState = z.enum(['planned', 'built', 'retired']);

export const stackCell = z.object({
  position: z.int(),
  cellId: id,
  serial: z.string(),
  lotId: id,
  lotName: z.string(),
  /** The measured values by which the cell was chosen, kept as they were. */
  chosenBy: z.record(z.string(), quantityValue),
});

export const stack = z.object({
  id,
  version,
  name: z.string(),
  state: stackState,
  note: z.string(),
  pairId: id.nullable(),
  pairingId: id.nullable(),
  createdAt: instant,
  builtAt: instant.nullable(),
  checkUpDueAt: instant.nullable(),
  cells: z.array(stackCell),
});

export const createStack = z.object({ pairId: id, name: givenName.optional(), note: remark.default('') });
export const changeStack = z
  .object({
    name: givenName,
    note: remark,
    /** Back to `planned` or, from retired, to `built` only within a day. */
    state: z.enum(['planned', 'built', 'retired']),
    checkUpDueAt: instant.nullable(),
  })
  .partial();
export const stackQuery = pageQuery.extend({ state: stackState.optional() });
export const stackPage = pageOf(stack);

export type StackState = z.infer<typeof stackState>;
export type Stack = z.infer<typeof stack>;
export type CreateStack = z.infer<typeof createStack>;
export type ChangeStack = z.infer<typeof changeStack>;
