import type { Context } from '../../context.ts';
import type { HistoryEntry } from '../../contract/cells.ts';
import { notFound } from '../../errors.ts';
import { listHistory } from '../../store/audit.ts';
import { findStack } from '../../store/stacks.ts';

/** Everything that happened to a stack, to its pair, and to the run that proposed it. */
export async function readStackHistory(context: Context, stackId: number): Promise<HistoryEntry[]> {
  const stack = await findStack(context.store, stackId);
  if (!stack) throw notFound('stack', stackId);
  return listHistory(context.store, [
    { kind: 'stack', ids: [stackId] },
    { kind: 'pair', ids: stack.pairId === null ? [] : [stack.pairId] },
    { kind: 'pairing', ids: stack.pairingId === null ? [] : [stack.pairingId] },
  ]);
}
