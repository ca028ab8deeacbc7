import type { RandomSource } from '../fitting/statistics/index.ts';
import type { Isolation, Store } from './store/store.ts';

/** reader: look and export; operator: also import, evaluate, pair; owner: also tokens, undo and deletion. */
export type Role = 'reader' | 'operator' | 'owner';

/** Who acts. */
export interface Actor {
  readonly name: string;
  readonly role: Role;
}

/** What every use case is given: store, clock, actor and random source come from outside. */
export interface Context {
  readonly store: Store;
  readonly now: () => Date;
  readonly actor: Actor;
  readonly random: RandomSource;
}

/** The context's present instant as it is stored. */
export function nowText(context: Pick<Context, 'now'>): string {
  return context.now().toISOString();
}

/** Runs `work` as one transaction; the context it is given stores in that transaction. */
export function inTransaction<Given extends Pick<Context, 'store'>, T>(
  context: Given,
  work: (context: Given) => Promise<T>,
  isolation?: Isolation,
): Promise<T> {
  return context.store.transaction(async (store) => work({ ...context, store }), isolation);
}
