import { mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { type Bench, type BenchResult, report, share } from './harness.ts';
import { addToHistory, commitNow, type HistoryEntry, readHistory } from './history.ts';
import { benchPage } from './page.ts';
import { type Repeated, runRepeated } from './repeat.ts';

const here = new URL('.', import.meta.url);
const results = new URL('results/', here);
const available = readdirSync(here)
  .filter((file) => file.endsWith('.bench.ts'))
  .map((file) => file.replace('.bench.ts', ''))
  .sort();

/** Runs one bench in this process and writes what it found to a file. */
async function runHere(name: string, file: string): Promise<void> {
  const module: { default: Bench } = await import(new URL(`${name}.bench.ts`, here).href);
  const result: BenchResult = await module.default.run();
  console.log(report(result));
  writeFileSync(file, JSON.stringify(result));
}

function steadiness({ ratio, runs, load, isSteady }: Repeated): string {
  const machine = `load ${load.toFixed(1)} on ${cpus().length} cores`;
  if (ratio === null) return machine;
  const quartiles = `quartiles ${ratio[0].toPrecision(3)} to ${ratio[2].toPrecision(3)} over ${runs} runs`;
  const judged = isSteady === false ? ', which are more than 10 % from the median: not steady' : '';
  return runs === 1 ? `one run, ${machine}` : `${quartiles}${judged}; ${machine}`;
}

function entryOf(name: string, commit: string, repeated: Repeated): HistoryEntry {
  const { result, ratio, runs, load } = repeated;
  return {
    commit,
    day: new Date().toISOString().slice(0, 10),
    name,
    title: result.title,
    against: result.against,
    ratio: ratio === null ? null : [ratio[0], ratio[1], ratio[2]],
    runs,
    load: Math.round(load * 10) / 10,
    cores: cpus().length,
    rows: result.rows.map(({ who, medianS, note }) => ({ who, medianS, ...(note ? { note } : {}) })),
    remarks: [...(result.remarks ?? []), ...(result.missing ? [`missing: ${result.missing}`] : [])],
  };
}

/** One run; where it fails, another, because a machine under load may fail one. The first failure stays in the output. */
function runTwiceAtMost(name: string): Repeated {
  try {
    return runRepeated(name, true);
  } catch (error) {
    console.error(`${error instanceof Error ? error.message : String(error)} It is tried once more.`);
    return runRepeated(name, true);
  }
}

/**
 * Each named bench, or all. With a share below 1 every bench runs once and nothing is kept: that shows that it runs,
 * and no more. A bench that cannot run fails the command, at its end.
 */
function runAll(names: readonly string[]): void {
  const isShort = share < 1;
  const commit = commitNow();
  mkdirSync(results, { recursive: true });
  const failed: string[] = [];
  for (const name of names) {
    try {
      const repeated = isShort ? runTwiceAtMost(name) : runRepeated(name, false);
      if (repeated.result.missing && process.env.GEMEL_REQUIRE_ALL === '1') {
        failed.push(`${name} (missing: ${repeated.result.missing})`);
      }
      if (repeated.ratio) console.log(`median ratio ${repeated.ratio[1].toPrecision(4)}`);
      console.log(steadiness(repeated));
      if (isShort) continue;
      for (const [file, svg] of Object.entries(repeated.result.pictures ?? {}))
        writeFileSync(new URL(file, results), svg);
      addToHistory([entryOf(name, commit, repeated)]);
      writeFileSync(new URL('index.html', results), benchPage(readHistory()));
    } catch (error) {
      failed.push(`${name} (${error instanceof Error ? error.message : String(error)})`);
    }
  }
  if (!isShort) console.log(`\nPage: ${fileURLToPath(new URL('index.html', results))}`);
  if (failed.length === 0) return;
  console.error(`\nCould not run: ${failed.join('; ')}`);
  process.exitCode = 1;
}

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { result: { type: 'string' } },
});
const unknown = positionals.filter((name) => !available.includes(name));
if (unknown.length > 0) {
  console.error(`No bench is named ${unknown.join(', ')}. Expected: ${available.join(', ')}`);
  process.exitCode = 2;
} else if (values.result !== undefined) {
  await runHere(positionals[0], values.result);
} else {
  runAll(positionals.length > 0 ? positionals : available);
}
