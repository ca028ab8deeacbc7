import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { quantileSorted } from '../../fitting/statistics/sample.ts';
import { projectRoot } from '../../server/projectRoot.ts';
import type { BenchResult } from './harness.ts';

const main = fileURLToPath(new URL('main.ts', import.meta.url));

/** Runs from which on quartiles say something, and after which it is given up. */
const fewest = 3;
const most = 9;
/** Quartiles of the ratio this near to its median, as a fraction, end the repetition. */
const near = 0.1;
/** A bench that takes longer than this, in seconds, is run once. */
const longS = 240;

export interface Repeated {
  /** The run whose ratio is the median of all. */
  readonly result: BenchResult;
  /** Lower quartile, median, upper quartile. */
  readonly ratio: readonly [number, number, number] | null;
  readonly runs: number;
  readonly load: number;
  /** Whether the quartiles came within 10 % of the median; null where there was one run alone. */
  readonly isSteady: boolean | null;
}

/** Runs one bench in a process of its own: what a compiler or a heap has become in an earlier bench does not count. */
function runOnce(name: string, folder: string): BenchResult {
  const file = join(folder, 'result.json');
  const run = spawnSync(
    process.execPath,
    ['--expose-gc', '--import', 'tsx', main, name, `--result=${file}`],
    { stdio: ['ignore', 'inherit', 'inherit'], cwd: projectRoot },
  );
  if (run.status !== 0) throw new Error(`The bench ${name} ended with ${run.signal ?? run.status}.`);
  return JSON.parse(readFileSync(file, 'utf8')) as BenchResult;
}

/**
 * Runs a bench in fresh processes until the quartiles of its ratio lie within 10 % of the median, at most nine times;
 * once where it has no ratio, takes minutes, or `once` is asked for.
 *
 * @throws Error naming the bench that could not run
 */
export function runRepeated(name: string, once: boolean): Repeated {
  const folder = mkdtempSync(join(tmpdir(), 'gemel-bench-'));
  try {
    const results: { result: BenchResult; ratio: number }[] = [];
    let load = loadavg()[0];
    for (;;) {
      const began = performance.now();
      const result = runOnce(name, folder);
      load = Math.max(load, loadavg()[0]);
      if (result.ratio === null) return { result, ratio: null, runs: 1, load, isSteady: null };
      results.push({ result, ratio: result.ratio });
      results.sort((a, b) => a.ratio - b.ratio);
      const ratios = results.map((r) => r.ratio);
      const [low, middle, high] = [0.25, 0.5, 0.75].map((p) => quantileSorted(ratios, p));
      const isSteady = high - middle <= near * middle && middle - low <= near * middle;
      const isLong = performance.now() - began > longS * 1000;
      const runs = results.length;
      if (once || isLong || (runs >= fewest && isSteady) || runs >= most)
        return {
          result: results[(runs - 1) >> 1].result,
          ratio: [low, middle, high],
          runs,
          load,
          isSteady: runs >= fewest ? isSteady : null,
        };
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
