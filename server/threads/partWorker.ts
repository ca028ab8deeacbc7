import { workerData } from 'node:worker_threads';
import { type Answered, answered } from './answered.ts';
import { partNamed } from './parts.ts';
import type { Piece } from './shareOut.ts';

/** Does one piece of shared work; null where the work was ended before. */
export default async function run({ part, piece, stop }: Piece): Promise<Answered | null> {
  const isStopped = () => Atomics.load(stop, 0) === 1;
  if (isStopped()) return null;
  const work = await partNamed(part);
  return answered(async () => work(workerData.common, piece, isStopped));
}
