import { runEvaluate } from './runEvaluate.ts';

/** Runs `gemel evaluate charge` and collects what it writes. */
export const runEvaluateCharge = (...words: string[]): ReturnType<typeof runEvaluate> =>
  runEvaluate('charge', ...words);
