import type { Context } from '../../context.ts';
import { type TakenScale, takenScale } from '../../contract/takenParameters.ts';
import { listCellFits } from '../../store/fits.ts';
import { parseStored } from '../../store/storedJson.ts';

/** What such a fit follows; beside it there are fits of the same kind that hold capacities. */
export const SCALE_QUANTITY = 'resistance scale';

/** The factors on a cell's older circuit tables that were taken over from a measured charge; null where there are none. */
export async function takenScaleOf(
  context: Pick<Context, 'store'>,
  cellId: number,
): Promise<{ readonly fitId: number; readonly scale: TakenScale } | null> {
  const fits = await listCellFits(context.store, cellId, 'charge-log-taken');
  const newest = fits.find(({ quantity }) => quantity === SCALE_QUANTITY);
  if (newest === undefined) return null;
  return { fitId: newest.id, scale: parseStored(takenScale, newest.resultJson, `fit ${newest.id}`) };
}
