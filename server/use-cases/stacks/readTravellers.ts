import type { Context } from '../../context.ts';
import { storedTraveller, type Traveller } from '../../contract/travellers.ts';
import { notFound } from '../../errors.ts';
import { listTravellers } from '../../store/attachments.ts';
import { findStack } from '../../store/stacks.ts';
import { parseStored } from '../../store/storedJson.ts';

/** What the travellers of a stack came back with, newest first. @throws Refusal `not-found` */
export async function readTravellers({ store }: Context, stackId: number): Promise<Traveller[]> {
  if ((await findStack(store, stackId)) === null) throw notFound('stack', stackId);
  return (await listTravellers(store, stackId)).map(({ id, text, createdAt, createdBy }) => {
    const { schemaVersion: _, ...results } = parseStored(storedTraveller, text, `traveller ${id}`);
    return { id, createdAt, createdBy, ...results };
  });
}
