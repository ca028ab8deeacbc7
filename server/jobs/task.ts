import type { MessagePort } from 'node:worker_threads';
import type { JobKind } from '../contract/jobs.ts';
import type { DatabasePlace } from '../store/store.ts';
import type { Crew } from '../threads/crew.ts';

/** What a worker thread is given for one job. */
export interface Task {
  readonly database: DatabasePlace;
  readonly jobId: number;
  /** Who runs it; a job that was given to another worker is not this one's any more. */
  readonly workerId: string;
  readonly kind: JobKind;
  readonly input: Record<string, unknown>;
  readonly actorName: string;
  /** Where progress goes. */
  readonly port: MessagePort;
  /** Set to 1 from outside where the job is to stop. */
  readonly stop: Int32Array;
  /** Threads that may share the job's work with its own; null: none. */
  readonly crew: Crew | null;
}

/** Progress as threads report it to each other. */
export interface TaskProgress {
  /** 0 to 1. */
  readonly share: number;
  readonly text: string;
}

/** Thrown inside a job that was asked to stop; what it had begun is undone on the way. */
export class JobStopped extends Error {
  constructor() {
    super('The job was cancelled.');
    this.name = 'JobStopped';
  }
}
