import type { ChosenCircuit } from './chosenCircuit.ts';
import type { CircuitRefusal } from './circuitRefusal.ts';

/** Above this difference of AICc the higher model has essentially no support (Burnham and Anderson, 2002, 2.6, from memory). */
export const NO_SUPPORT = 10;

/** Refusals of a contender that saw what the chosen circuit does not hold, and could not determine it. */
const UNDETERMINED: ReadonlySet<CircuitRefusal | null> = new Set<CircuitRefusal>([
  'tau-below-sampling',
  'tau-beyond-record',
  'tau-uncertain',
  'negative-resistance',
  'branches-coincide',
]);

/**
 * Whether a contender fits far better than the chosen circuit, but was refused: then the record holds more than the circuit does,
 * and its parameters take the rest up.
 */
export function isSurpassed({ aicc, candidates }: Pick<ChosenCircuit, 'aicc' | 'candidates'>): boolean {
  if (aicc === null) return false;
  return candidates.some(
    (one) => UNDETERMINED.has(one.reason) && one.aicc !== null && one.aicc < aicc - NO_SUPPORT,
  );
}
