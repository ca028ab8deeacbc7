import { availableParallelism } from 'node:os';

/**
 * Threads that are free to take parts of a piece of work: one count for all jobs of a process, so that several jobs at a
 * time do not take more threads than there are cores.
 */
export type Crew = Int32Array;

/** @param threads as set by a person, else as many as the machine has cores */
export function makeCrew(threads: number | null): Crew {
  const crew = new Int32Array(new SharedArrayBuffer(4));
  crew[0] = threads ?? availableParallelism();
  return crew;
}

/** Takes up to `wanted` threads; none where there are not two, because one is no quicker than going on in this one. */
export function takeThreads(crew: Crew, wanted: number): number {
  for (;;) {
    const free = Atomics.load(crew, 0);
    const taken = Math.min(free, wanted);
    if (taken < 2) return 0;
    if (Atomics.compareExchange(crew, 0, free, free - taken) === free) return taken;
  }
}

export function giveThreadsBack(crew: Crew, threads: number): void {
  Atomics.add(crew, 0, threads);
}
