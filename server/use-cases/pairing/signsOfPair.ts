import type { Context } from '../../context.ts';
import { notFound } from '../../errors.ts';
import { findPairRow } from '../../store/pairings.ts';
import { findSignsOfLots, type SignsByCell } from '../register/refuseWarningSigns.ts';
import { readRun } from './readPairing.ts';

/**
 * The signs that cells of the lots of a pair's run have now, without those that its criteria ignore; partners that are exchanged
 * meanwhile are among them.
 */
export async function findSignsOfPair(
  context: Context,
  pairId: number,
  field?: string,
): Promise<SignsByCell> {
  const pair = await findPairRow(context.store, pairId);
  if (!pair) throw notFound('pair', pairId, field);
  const { lotIds, result } = await readRun(context, pair.pairingId);
  return findSignsOfLots(context, lotIds, result.criteria.signsIgnored);
}
