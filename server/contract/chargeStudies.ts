import { z } from 'zod';
import { chargeNote, chargeStudyDescription } from './chargeStudy.ts';
import { chargeStudyResult } from './chargeStudyResult.ts';
import { givenName, id, instant, pageOf, pageQuery, version } from './common.ts';

/** What is to be charged: a stack, or stored cells in series in this order. Exactly one of the two. */
const subject = { stackId: id.optional(), cellIds: z.array(id).min(1).max(8).optional() };

export const draftChargeStudy = z.strictObject({
  ...subject,
  /** Puts a question about the highest rate into the draft, with the life law of cycled cells of the lot or type; a note says why not. */
  withLife: z.boolean().optional(),
  /** Names of a kept source, cable and converter that the draft is to have. */
  source: givenName.optional(),
  cable: givenName.optional(),
  converter: givenName.optional(),
});

/** A description made from fitted parameters, to be changed by a person, with what must be known about it. */
export const chargeStudyDraft = z.object({
  description: chargeStudyDescription,
  notes: z.array(chargeNote),
});

export const computeChargeStudy = z.strictObject({ description: chargeStudyDescription });

export const createChargeStudy = z.strictObject({
  name: givenName,
  description: chargeStudyDescription,
  ...subject,
});

export const chargeStudyState = z.enum(['waiting', 'running', 'done', 'failed']);

const head = {
  id,
  version,
  name: z.string(),
  createdAt: instant,
  createdBy: z.string(),
  state: chargeStudyState,
  /** Why it failed, null where it did not. */
  error: z.string().nullable(),
  stackId: id.nullable(),
  cellIds: z.array(id),
  /** The job that computes it. */
  jobId: id.nullable(),
};
export const chargeStudyHead = z.object(head);

/** A stored study; `result` is null until its job is done. */
export const storedChargeStudy = z.object({
  ...head,
  /** The fits that the cells' parameters came from when the study was drafted from stored cells. */
  fitIds: z.array(id),
  description: chargeStudyDescription,
  result: chargeStudyResult.nullable(),
});

export const chargeStudyQuery = pageQuery.extend({ stackId: z.coerce.number().int().positive().optional() });
export const chargeStudyPage = pageOf(chargeStudyHead);

export type DraftChargeStudy = z.infer<typeof draftChargeStudy>;
export type ChargeStudySubjectNames = Pick<DraftChargeStudy, 'stackId' | 'cellIds'>;
export type ChargeStudyDraft = z.infer<typeof chargeStudyDraft>;
export type CreateChargeStudy = z.infer<typeof createChargeStudy>;
export type ChargeStudyHead = z.infer<typeof chargeStudyHead>;
export type StoredChargeStudy = z.infer<typeof storedChargeStudy>;
