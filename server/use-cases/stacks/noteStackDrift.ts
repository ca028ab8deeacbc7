import { type Context, nowText } from '../../context.ts';
import { stackDriftNote } from '../../contract/stackLife.ts';
import { insertFit } from '../../store/fits.ts';
import { linkStackLogs } from '../../store/stackLogFits.ts';
import { readStackLife } from './readStackLife.ts';

/**
 * Stores whether the cells of a stack drift apart, as its measured charges show it now; lists and lots read this instead of every
 * evaluation. To be called inside the transaction that stores an evaluation.
 */
export async function noteStackDrift(context: Context, stackId: number): Promise<void> {
  const { drift } = await readStackLife(context, stackId);
  const known = drift.filter(({ perCycleAh }) => perCycleAh !== null);
  if (known.length === 0) return;
  const result = stackDriftNote.parse({
    schemaVersion: 1,
    state: known.some(({ drifting }) => drifting) ? 'drifting' : 'steady',
    cells: known.map(({ cellId, perCycleAh, drifting }) => ({
      cellId,
      perCycleAh: perCycleAh?.value,
      drifting,
    })),
  });
  const logIds = [...new Set(known.flatMap(({ points }) => points.map(({ logId }) => logId)))];
  const id = await insertFit(context.store, {
    kind: 'stack-drift',
    stackId,
    algorithm: 'stack-life',
    algorithmVersion: 'stack-life/1',
    settings: {},
    inputs: { logs: logIds },
    result,
    createdAt: nowText(context),
    createdBy: context.actor.name,
  });
  await linkStackLogs(context.store, id, logIds);
}
