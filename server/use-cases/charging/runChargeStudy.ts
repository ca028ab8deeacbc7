import { type Context, inTransaction, nowText } from '../../context.ts';
import type { StoredChargeStudy } from '../../contract/chargeStudies.ts';
import { Refusal } from '../../errors.ts';
import { insertAudit } from '../../store/audit.ts';
import { finishChargeStudy, startChargeStudy } from '../../store/chargeStudies.ts';
import type { Crew } from '../../threads/crew.ts';
import { readChargeStudy } from './readChargeStudy.ts';
import { studyInThreads } from './studyInThreads.ts';

/**
 * Computes a kept study and stores its result, or why there is none. Computing it again gives the same result.
 *
 * @param tell receives the draws of a spread; what it throws ends the run and leaves the study without a result
 * @throws Refusal as {@link studyInThreads}
 */
export async function runChargeStudy(
  context: Context,
  id: number,
  tell: (done: number, of: number) => void = () => {},
  crew: Crew | null = null,
): Promise<StoredChargeStudy> {
  const { store } = context;
  const { description } = await readChargeStudy(context, id);
  await startChargeStudy(store, id);
  try {
    const result = await studyInThreads(description, { crew, onProgress: tell });
    await inTransaction(context, async (context) => {
      await finishChargeStudy(context.store, id, { resultJson: JSON.stringify(result) });
      await insertAudit(context.store, {
        at: nowText(context),
        actor: context.actor.name,
        action: 'charge-study.computed',
        subjectKind: 'charge-study',
        subjectId: id,
        detail: { algorithm: result.algorithm, endReason: result.endReason },
      });
    });
  } catch (error) {
    const reason = error instanceof Refusal ? error.message : 'The study was not finished.';
    await finishChargeStudy(store, id, { error: reason });
    throw error;
  }
  return readChargeStudy(context, id);
}
