import type { StoredPair } from '../../../../server/contract/pairings.ts';
import { say } from '../../words/i18n.ts';

/** The two cells of a pair by their serials. */
export function namesOf(pair: Pick<StoredPair, 'cells'>): string {
  return pair.cells.map((c) => c.serial).join(say('pairings.with'));
}
