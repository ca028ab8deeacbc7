import type { Context } from '../../context.ts';
import { notFound } from '../../errors.ts';
import type { AttachmentSubject } from '../../store/attachments.ts';
import { findCell } from '../../store/cells.ts';
import { findStack } from '../../store/stacks.ts';

/** What a note or picture is kept with, as the audit names it. @throws Refusal `not-found` where it is not there */
export async function needSubject(
  { store }: Context,
  subject: AttachmentSubject,
): Promise<{ readonly kind: 'cell' | 'stack'; readonly id: number }> {
  const found =
    'cellId' in subject
      ? ({ kind: 'cell', id: subject.cellId, there: await findCell(store, subject.cellId) } as const)
      : ({ kind: 'stack', id: subject.stackId, there: await findStack(store, subject.stackId) } as const);
  if (!found.there) throw notFound(found.kind, found.id);
  return { kind: found.kind, id: found.id };
}
