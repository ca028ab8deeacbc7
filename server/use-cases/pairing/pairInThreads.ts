import { beginPairing, type CellsToPair, finishPairing, pairCells } from '../../assess/pairing/pairCells.ts';
import type { PairingResult } from '../../contract/pairingResult.ts';
import { type Sharing, shareOut } from '../../threads/shareOut.ts';

/** Pieces of the repetitions at most. */
const MOST_PIECES = 40;

/**
 * Pairs cells as `pairCells` does, with the repetitions of drawn values shared out among threads; the same result.
 *
 * @throws Refusal as `pairCells`; what `onProgress` throws, which is told of repetitions
 */
export async function pairInThreads(asked: CellsToPair, sharing: Sharing): Promise<PairingResult> {
  if (sharing.crew === null) return pairCells(asked.cells, asked.criteria, asked.gates);
  const begun = beginPairing(asked);
  const { repetitions, paired } = begun;
  if (repetitions === 0 || paired === null) return finishPairing(begun, []);
  const each = Math.ceil(repetitions / MOST_PIECES);
  const pieces = Array.from({ length: Math.ceil(repetitions / each) }, (_, i) => {
    const first = i * each;
    return [first, Math.min(each, repetitions - first)] as const;
  });
  const common = { ...asked, pairs: paired.pairs };
  const counted = await shareOut('pair-repetitions', common, pieces, sharing, ([, count]) => count);
  return finishPairing(begun, counted);
}
