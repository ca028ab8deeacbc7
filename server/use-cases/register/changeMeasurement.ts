import type { Context } from '../../context.ts';
import { nowText } from '../../context.ts';
import type { ChangeMeasurement, Measurement } from '../../contract/measurements.ts';
import { notFound, Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { findMeasurement, setExcludedReason } from '../../store/measurements.ts';
import { recountStates } from '../parameters/recountStates.ts';

/**
 * Leaves a measurement out of everything that counts, with a reason, or lets one count that was left out.
 *
 * @throws Refusal `not-found`; `conflict` where the measurement is superseded
 */
export async function changeMeasurement(
  context: Context,
  id: number,
  change: ChangeMeasurement,
): Promise<Measurement> {
  const { store } = context;
  await store.transaction(async (tx) => {
    const found = await findMeasurement(tx, id);
    if (!found) throw notFound('measurement', id);
    if (found.supersededAt !== null)
      throw new Refusal('conflict', `Measurement ${id} is superseded; it counts no more.`);
    await setExcludedReason(tx, id, change.excludedReason);
    if (found.quantity === 'capacity') await recountStates(tx, found.cellId);
    await insertAudit(tx, {
      at: nowText(context),
      actor: context.actor.name,
      action: change.excludedReason === null ? 'measurement.counted' : 'measurement.left-out',
      subjectKind: 'measurement',
      subjectId: id,
      detail: { before: found.excludedReason ?? '', after: change.excludedReason ?? '' },
    });
  });
  return (await findMeasurement(store, id)) as Measurement;
}
