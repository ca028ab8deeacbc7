import { existsSync, readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { findPython, runPython } from '../support/python.ts';
import { sharedPath } from '../support/required.ts';
import { allCases, type ForecastCase, type Scored, type Worth, worthOf } from './forecast/cases.ts';
import { type Bench, type BenchResult, median, shareOf } from './harness.ts';

/** Simulated cells of each kind and fleet; more with the variable, for a figure of coverage that is sharp to a few per cent. */
const SIMULATED_CELLS = Number(process.env.GEMEL_FORECAST_CELLS ?? shareOf(24, 2));
/** Rows a series is thinned to for the baselines: a Gaussian process grows with their cube. */
const MOST_ROWS = 60;

interface Answer {
  readonly [who: string]: readonly [number, number, number];
}

function thinned(x: Float64Array, y: Float64Array): { x: number[]; y: number[] } {
  const size = Math.max(1, Math.ceil(x.length / MOST_ROWS));
  const mean = (values: Float64Array): number[] =>
    Array.from({ length: Math.floor(values.length / size) }, (_, b) => {
      const from = values.length - (Math.floor(values.length / size) - b) * size;
      return values.subarray(from, from + size).reduce((sum, value) => sum + value, 0) / size;
    });
  return { x: mean(x), y: mean(y) };
}

function peers(cases: readonly ForecastCase[]): Map<string, Scored[]> | null {
  const python = findPython('sklearn', 'scipy');
  if (python === null) return null;
  const program = readFileSync(new URL('forecast/peer.py', import.meta.url), 'utf8');
  const answers = runPython(
    python,
    program,
    cases.map(({ cell, finished }) => ({
      ...thinned(cell.points.x, cell.points.y),
      limit: cell.threshold,
      finished: finished.map(({ points, life }) => ({ ...thinned(points.x, points.y), life })),
    })),
  ) as Answer[];
  const scored = new Map<string, Scored[]>();
  answers.forEach((answer, i) => {
    for (const [who, [low, middle, high]] of Object.entries(answer)) {
      const list = scored.get(who) ?? [];
      scored.set(who, list);
      list[i] = { low, middle, high, life: cases[i].life };
    }
  });
  return scored;
}

/** Our forecasts of all cases, shared out to as many workers as there are cores. */
async function forecastAll(count: number): Promise<{ own: Scored[]; seconds: number[] }> {
  const own = new Array<Scored>(count);
  const seconds: number[] = [];
  const step = Math.min(availableParallelism(), count);
  const share = (first: number): Promise<void> =>
    new Promise((resolve, reject) => {
      const worker = new Worker(new URL('forecast/caseWorker.mjs', import.meta.url));
      worker.on('error', reject);
      worker.on('message', (found: { index: number; scored: Scored; seconds: number } | null) => {
        if (found === null) {
          void worker.terminate();
          resolve();
          return;
        }
        own[found.index] = found.scored;
        seconds.push(found.seconds);
      });
      worker.postMessage({ cells: SIMULATED_CELLS, first, step });
    });
  await Promise.all(Array.from({ length: step }, (_, first) => share(first)));
  return { own, seconds };
}

function tell(
  group: string,
  who: string,
  { coverage, width, error, bias, score }: Worth,
  count: number,
): string {
  const percent = (value: number): string => `${(100 * value).toFixed(1)} %`.padStart(9);
  return `${group.padEnd(34)} ${who.padEnd(17)}${percent(coverage)}${percent(width)}${percent(error)}${percent(bias)}${percent(score)}  (${count})`;
}

/** Share of cells below which the width of an interval is not a merit: it does not cover. */
const HOLDS = 0.7;

/** Where a baseline is better than we are, column by column; widths count only of intervals that hold at least 70 %. */
function beaten(worths: ReadonlyMap<string, ReadonlyMap<string, Worth>>): string[] {
  const percent = (value: number): string => `${(100 * value).toFixed(1)} %`;
  const away = ({ coverage }: Worth): number => Math.abs(coverage - 0.8);
  const found = [...worths].flatMap(([group, all]) => {
    const own = all.get('gemel');
    if (own === undefined) return [];
    return [...all].flatMap(([who, other]) => [
      ...(away(other) < away(own) ? [`${group}: coverage, ${who} ${percent(other.coverage)}`] : []),
      ...(other.coverage >= HOLDS && other.width < own.width
        ? [`${group}: width, ${who} ${percent(other.width)} against ${percent(own.width)}`]
        : []),
      ...(other.error < own.error
        ? [`${group}: error, ${who} ${percent(other.error)} against ${percent(own.error)}`]
        : []),
      ...(other.score < own.score
        ? [`${group}: score, ${who} ${percent(other.score)} against ${percent(own.score)}`]
        : []),
    ]);
  });
  return ['', 'Where a baseline is better (widths of intervals that hold at least 70 %):', ...found];
}

async function run(): Promise<BenchResult> {
  const name = 'forecast';
  const title =
    'Forecasts of life from part of it: 80 % intervals against what came, all relative to the real life';
  const shared = existsSync(sharedPath('datasets/lfp-fast-charge/cells.csv'));
  const cases = allCases(SIMULATED_CELLS);
  const { own, seconds } = await forecastAll(cases.length);
  const others = peers(cases);
  const all = new Map<string, Scored[]>([['gemel', own], ...(others ?? [])]);
  const groups = [...new Set(cases.map(({ group }) => group))];
  const scores = new Map<string, number[]>();
  const worths = new Map<string, Map<string, Worth>>();
  const lines = groups.flatMap((group) =>
    [...all].map(([who, scored]) => {
      const members = scored.filter((_, i) => cases[i].group === group);
      const worth = worthOf(members);
      scores.set(who, [...(scores.get(who) ?? []), worth.score]);
      worths.set(group, (worths.get(group) ?? new Map<string, Worth>()).set(who, worth));
      return tell(group, who, worth, members.length);
    }),
  );
  const [mine, ...theirs] = [...scores.values()];
  const best = mine.map((score, g) => Math.min(...theirs.map((list) => list[g])) / score);
  const missing = [
    ...(others === null
      ? ['python3 with scikit-learn and SciPy (Debian: python3-sklearn python3-scipy)']
      : []),
    ...(shared ? [] : ['the data set ../shared/datasets/lfp-fast-charge']),
  ].join('; ');
  return {
    name,
    title,
    rows: [{ who: 'gemel, one forecast', medianS: median(seconds) }],
    ratio: others === null ? null : median(best),
    against:
      'interval score of the best baseline of each group over ours, median of the groups (above 1: ours is better)',
    ...(missing === '' ? {} : { missing }),
    remarks: [
      `${''.padEnd(52)} ${['covers', 'width', 'error', 'bias', 'score'].map((text) => text.padStart(8)).join(' ')}`,
      ...lines,
      ...beaten(worths),
    ],
  };
}

const bench: Bench = { name: 'forecast', run };
export default bench;
