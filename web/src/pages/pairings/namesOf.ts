import type { StoredPair } from '../../../../server/contract/pairings.ts';
import { say } from '../../words/i18n.ts';

/** The cells of a pair by their serials. */
export function namesOf(pair: Pick<StoredPair, 'cells'>): string {
  return joined(pair.cells.map((c) => c.serial));
}

/** Serials of cells that go together, two or more. */
export function joined(serials: readonly string[]): string {
  return serials.join(serials.length === 2 ? say('pairings.with') : ' + ');
}
