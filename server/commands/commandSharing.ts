import { readConfig } from '../config.ts';
import { makeCrew } from '../threads/crew.ts';
import type { Sharing } from '../threads/shareOut.ts';
import { showProgress } from './showProgress.ts';

/** The threads that a command may share its work with: as many as `GEMEL_WORKERS` says, else one for each core. */
export function commandSharing(what: string): Sharing {
  return { crew: makeCrew(readConfig().workers), onProgress: showProgress(what) };
}
