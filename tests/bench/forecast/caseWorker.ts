import { parentPort } from 'node:worker_threads';
import { allCases, ours } from './cases.ts';

/** Forecasts the cases from `first` on in steps of `step`, and tells how long each took. */
parentPort?.on('message', ({ cells, first, step }: { cells: number; first: number; step: number }) => {
  const cases = allCases(cells);
  for (let i = first; i < cases.length; i += step) {
    const started = performance.now();
    const scored = ours(cases[i]);
    parentPort?.postMessage({ index: i, scored, seconds: (performance.now() - started) / 1000 });
  }
  parentPort?.postMessage(null);
});
