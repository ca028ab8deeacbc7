import { readLotChanges } from '../../store/lotChanges.ts';
import type { Store } from '../../store/store.ts';

interface Kept {
  /** What the lot's changes came to before it was computed. */
  readonly changes: number;
  readonly answer: Promise<unknown>;
}

/** Answers that a service keeps; of more, the one that was computed first goes. */
const mostKept = 20;
const keptBy = new WeakMap<Store, Map<string, Kept>>();

/**
 * What is computed over a whole lot, kept by this service until anything it is made of changes, whoever changes it. Those
 * who ask the same meanwhile wait for one computation.
 *
 * @param question names what is asked, with all that the answer depends on besides the lot
 */
export async function keptOfLot<T>(
  store: Store,
  lotId: number,
  question: string,
  compute: () => Promise<T>,
): Promise<T> {
  const changes = await readLotChanges(store, lotId);
  const kept = keptBy.get(store) ?? new Map<string, Kept>();
  keptBy.set(store, kept);
  const key = `${lotId} ${question}`;
  const known = kept.get(key);
  if (known?.changes === changes) return known.answer as Promise<T>;
  const answer = compute();
  const own: Kept = { changes, answer };
  kept.delete(key);
  kept.set(key, own);
  if (kept.size > mostKept) kept.delete(kept.keys().next().value ?? key);
  // What was refused, or failed, is asked again.
  answer.catch(() => {
    if (kept.get(key) === own) kept.delete(key);
  });
  return answer;
}
