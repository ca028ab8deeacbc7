import { isBuilt } from '../projectRoot.ts';
import { type Answered, answerOf } from './answered.ts';
import { type Crew, giveThreadsBack, takeThreads } from './crew.ts';
import { type AnswerOfPart, type CommonOf, type PartName, type PieceOf, partNamed } from './parts.ts';

/** Threads that may help, and who hears of the progress. */
export interface Sharing {
  /** Null: everything is done in this thread. */
  readonly crew: Crew | null;
  /** Called after each piece, and now and then; what it throws ends the work after the pieces at hand. */
  readonly onProgress?: (done: number, of: number) => void;
  /** Work that is expected to take less than this, in ms, is not worth the start of threads. */
  readonly worthMs?: number;
}

/** What one piece of shared work is given. */
export interface Piece<Name extends PartName = PartName> {
  readonly part: Name;
  readonly piece: PieceOf<Name>;
  /** 1 where the work is to end. */
  readonly stop: Int32Array;
}

/** Each thread loads and compiles its own code: that takes about 0.6 s from the build and some seconds from the sources. */
const usuallyWorthMs = isBuilt ? 1500 : 8000;
const lookEveryMs = 200;

/**
 * Does some work piece by piece and gives the answers in the order of the pieces. Where what is left after the first
 * pieces is worth it, free threads of the crew share it. A piece may depend on nothing but itself and what is common, so
 * that the answers are the same whatever the number of threads.
 *
 * @param common what all pieces need; each thread is given it once
 * @param sizeOf of a piece, in what progress is counted in
 * @throws what a piece throws, or `onProgress`
 */
export async function shareOut<Name extends PartName>(
  part: Name,
  common: CommonOf<Name>,
  pieces: readonly PieceOf<Name>[],
  { crew, onProgress = () => {}, worthMs = usuallyWorthMs }: Sharing,
  sizeOf: (piece: PieceOf<Name>) => number,
): Promise<AnswerOfPart<Name>[]> {
  const of = pieces.reduce((sum, piece) => sum + sizeOf(piece), 0);
  let size = 0;
  const isDone = (piece: PieceOf<Name>) => {
    size += sizeOf(piece);
  };
  const tell = () => onProgress(size, of);
  const answers: AnswerOfPart<Name>[] = [];
  const work = await partNamed(part);
  const began = performance.now();
  tell();
  for (const piece of pieces) {
    const left = pieces.slice(answers.length);
    const eachMs = (performance.now() - began) / Math.max(1, answers.length);
    if (crew !== null && left.length > 1 && eachMs * left.length > worthMs) {
      const threads = takeThreads(crew, left.length);
      try {
        if (threads > 0)
          return [...answers, ...(await inThreads(threads, { part, common, pieces: left, isDone, tell }))];
      } finally {
        giveThreadsBack(crew, threads);
      }
    }
    answers.push(await work(common, piece, () => false));
    isDone(piece);
    tell();
  }
  return answers;
}

interface Shared<Name extends PartName> {
  readonly part: Name;
  readonly common: CommonOf<Name>;
  readonly pieces: readonly PieceOf<Name>[];
  readonly isDone: (piece: PieceOf<Name>) => void;
  /** Tells the progress; what it throws ends the work. */
  readonly tell: () => void;
}

/** Hands the pieces to threads of their own. Where one fails or `tell` throws, waits until the others have ended. */
async function inThreads<Name extends PartName>(
  threads: number,
  { part, common, pieces, isDone, tell }: Shared<Name>,
): Promise<AnswerOfPart<Name>[]> {
  const { makePool } = await import('./pool.ts');
  const pool = makePool(threads, 'threads/partWorker', common);
  const stop = new Int32Array(new SharedArrayBuffer(4));
  const failures: unknown[] = [];
  /** Does something here; what it throws ends the work. */
  const trying = async (what: () => void | Promise<void>) => {
    try {
      if (failures.length === 0) await what();
    } catch (error) {
      failures.push(error);
      Atomics.store(stop, 0, 1);
    }
  };
  const looking = setInterval(() => void trying(tell), lookEveryMs);
  const answers: AnswerOfPart<Name>[] = [];
  const doPiece = async (piece: PieceOf<Name>, place: number): Promise<void> => {
    const given = (await pool.run({ part, piece, stop } satisfies Piece)) as Answered<
      AnswerOfPart<Name>
    > | null;
    // Nothing is given where the work was ended before.
    if (given === null) return;
    answers[place] = answerOf(given);
    isDone(piece);
    tell();
  };
  try {
    await Promise.all(pieces.map((piece, place) => trying(() => doPiece(piece, place))));
  } finally {
    clearInterval(looking);
    await pool.destroy();
  }
  if (failures.length > 0) throw failures[0];
  return answers;
}
