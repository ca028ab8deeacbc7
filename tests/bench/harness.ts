import { performance } from 'node:perf_hooks';

/** One line of a bench's table: who, how long in the median, and what else is worth knowing. */
export interface BenchRow {
  readonly who: string;
  /** Median time of one unit of work, in seconds. */
  readonly medianS: number;
  readonly note?: string;
}

/** What one bench found. `ratio` above 1: ours is quicker; null: the peer is missing. */
export interface BenchResult {
  readonly name: string;
  readonly title: string;
  readonly rows: readonly BenchRow[];
  readonly ratio: number | null;
  /** Which peer the ratio is against, and what one unit of work is. */
  readonly against: string;
  readonly missing?: string;
  readonly remarks?: readonly string[];
  /** Extra pictures as SVG text, by file name. */
  readonly pictures?: Readonly<Record<string, string>>;
}

/** A bench module's default export. */
export interface Bench {
  readonly name: string;
  run(): Promise<BenchResult>;
}

/**
 * How much of its work a bench does: `GEMEL_BENCH_SHARE=0.1` a tenth of the rows, records or cells. Its ratio is a
 * figure to quote at 1 only.
 */
export const share = Number(process.env.GEMEL_BENCH_SHARE ?? 1);
if (!(share > 0))
  throw new Error(`GEMEL_BENCH_SHARE is ${process.env.GEMEL_BENCH_SHARE}; expected: a number above 0.`);

/** `whole` times the share, a whole number and not below `fewest`. */
export function shareOf(whole: number, fewest = 1): number {
  return Math.max(fewest, Math.round(whole * share));
}

/** Median of a non-empty list. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/** Times `work` `rounds` times after `warm` unmeasured calls; returns seconds of each round. */
export async function time(work: () => unknown, rounds: number, warm = 1): Promise<number[]> {
  for (let i = 0; i < warm; i++) await work();
  const seconds: number[] = [];
  for (let i = 0; i < rounds; i++) {
    const start = performance.now();
    await work();
    seconds.push((performance.now() - start) / 1000);
  }
  return seconds;
}

/** The table and the closing `ratio` line of one bench, as text. */
export function report(result: BenchResult): string {
  const width = Math.max(...result.rows.map((r) => r.who.length), 4);
  const lines = [`\n${result.title}`, `${'who'.padEnd(width)}  median`];
  for (const row of result.rows) {
    lines.push(
      `${row.who.padEnd(width)}  ${(row.medianS * 1e3).toPrecision(4).padStart(10)} ms  ${row.note ?? ''}`,
    );
  }
  for (const remark of result.remarks ?? []) lines.push(remark);
  if (result.missing) lines.push(`missing peer: ${result.missing}`);
  if (result.ratio !== null)
    lines.push(`against: ${result.against}`, `ratio ${result.name} ${result.ratio.toPrecision(4)}`);
  return lines.join('\n');
}
