import { drawsOf, studyCharge } from '../../assess/charging/studyCharge.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../../contract/chargeStudyResult.ts';
import { type Sharing, shareOut } from '../../threads/shareOut.ts';

/** Draws of one piece: some 50 ms of work. */
const DRAWS_EACH = 50;

/**
 * A charge study whose draws are shared out among threads; the same result as {@link studyCharge}.
 *
 * @throws Refusal as {@link studyCharge}; what `onProgress` throws, which is told of draws
 */
export async function studyInThreads(
  description: ChargeStudyDescription,
  sharing: Sharing,
): Promise<ChargeStudyResult> {
  const draws = drawsOf(description);
  if (draws === 0) return studyCharge(description);
  const pieces = Array.from({ length: Math.ceil(draws / DRAWS_EACH) }, (_, i) => {
    const first = i * DRAWS_EACH;
    return [first, Math.min(DRAWS_EACH, draws - first)] as const;
  });
  const drawn = await shareOut('charge-draws', description, pieces, sharing, ([, count]) => count);
  return studyCharge(description, { drawn: drawn.flat() });
}
