import type { JobKind } from '../contract/jobs.ts';

/** Backups wait for nothing but the disk, so they run beside the other jobs instead of before them. */
export type JobLane = 'work' | 'backup';

/** Names of the queues of the lanes on a PostgreSQL server. */
export const queueOf = (lane: JobLane): string => `gemel-${lane}`;
export const queueNames: readonly string[] = (['work', 'backup'] as const).map(queueOf);

export function laneOf(kind: JobKind): JobLane {
  return kind === 'backup' ? 'backup' : 'work';
}
