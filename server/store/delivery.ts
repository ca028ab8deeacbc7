import type { JobLane } from './jobLanes.ts';
import { findWaitingJob } from './runningJobs.ts';
import type { Store } from './store.ts';

/** A job that was handed to one of those who run jobs. Whoever gets it still has to take it: it may be cancelled by then. */
export interface DeliveredJob {
  readonly id: number;
  /** To be called when it was done, or could not be taken. */
  ended(): Promise<void>;
}

/** How the jobs that wait reach those who run them, in whatever process and on whatever machine. */
export interface Delivery {
  /** The next job of a lane; null where none waits. */
  next(lane: JobLane, at: string): Promise<DeliveredJob | null>;
  /** Sends waiting jobs again in case a message was lost; at the start and at intervals. */
  remind(): Promise<void>;
  close(): Promise<void>;
}

/** Opens the way by which jobs come: the table of the jobs itself in a file, pg-boss on a PostgreSQL server. */
export async function openDelivery(store: Store): Promise<Delivery> {
  if (store.place.kind === 'postgresql') {
    const { openBossDelivery } = await import('./bossDelivery.ts');
    return openBossDelivery(store, store.place.url);
  }
  return {
    next: async (lane, at) => {
      const id = await findWaitingJob(store, lane, at);
      return id === null ? null : { id, ended: async () => {} };
    },
    remind: async () => {},
    close: async () => {},
  };
}
