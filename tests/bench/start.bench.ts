import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { projectRoot } from '../../server/projectRoot.ts';
import { type Bench, type BenchRow, median, shareOf } from './harness.ts';

const ROUNDS = shareOf(15);
const program = join(projectRoot, 'dist/server/commands/main.js');

const study = {
  schemaVersion: 1,
  cells: [
    {
      name: 'A',
      capacityAh: 2.5,
      soc: [0, 1],
      ocvV: [3.4, 4.2],
      r0Ohm: 0.05,
      startSoc: 0.1,
      datasheet: { maxVoltageV: 4.2, maxChargeCurrentA: 5 },
    },
  ],
  stack: { ambientTemperatureC: 25 },
  phases: { stages: [{ rateC: 1 }] },
};

/** Small files, so that what is timed is the start and not the work. */
function writeFiles(folder: string): Record<'pulse' | 'cells' | 'study', string> {
  const files = {
    pulse: join(folder, 'pulse.csv'),
    cells: join(folder, 'cells.csv'),
    study: join(folder, 'study.json'),
  };
  const rows = Array.from({ length: 600 }, (_, k) => {
    const loaded = k >= 100 && k < 160;
    const voltage = 3.7 - (loaded ? 0.1 + 0.05 * (1 - Math.exp(-(k - 100) / 20)) : 0);
    return `${k / 2},${voltage.toFixed(5)},${loaded ? -5 : 0}`;
  });
  writeFileSync(files.pulse, ['time_s,voltage_V,current_A', ...rows].join('\n'));
  const cells = Array.from({ length: 6 }, (_, k) => `C${k},${2.5 + k / 1000}`);
  writeFileSync(files.cells, ['serial,capacity_Ah', ...cells].join('\n'));
  writeFileSync(files.study, JSON.stringify(study));
  return files;
}

/** One run of Node in a process of its own, in seconds. */
function once(args: readonly string[]): number {
  const began = performance.now();
  const run = spawnSync(process.execPath, args, { encoding: 'utf8' });
  if (run.status !== 0) throw new Error(`${args.join(' ')} ended with ${run.status}: ${run.stderr}`);
  return (performance.now() - began) / 1000;
}

/** How long the command line takes to start: everything against Node running nothing, in turn in one run. */
const bench: Bench = {
  name: 'start',
  async run() {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-start-'));
    try {
      const files = writeFiles(folder);
      const whats: Readonly<Record<string, readonly string[]>> = {
        'Node alone': ['-e', '0'],
        'gemel --help': [program, '--help'],
        'gemel evaluate pulse': [program, 'evaluate', 'pulse', files.pulse, '--json'],
        'gemel pair': [program, 'pair', files.cells, '--json'],
        'gemel charge': [program, 'charge', files.study, '--json'],
      };
      const times: Record<string, number[]> = Object.fromEntries(Object.keys(whats).map((who) => [who, []]));
      for (let round = 0; round <= ROUNDS; round++) {
        for (const [who, args] of Object.entries(whats)) {
          const seconds = once(args);
          // The first round fills the file cache.
          if (round > 0) times[who].push(seconds);
        }
      }
      const bare = median(times['Node alone']);
      const rows: BenchRow[] = Object.entries(times).map(([who, all]) => {
        const medianS = median(all);
        const over = `${(1e3 * (medianS - bare)).toFixed(0)} ms over Node alone, ${(medianS / bare).toFixed(2)} times`;
        return { who, medianS, note: who === 'Node alone' ? undefined : over };
      });
      return {
        name: 'start',
        title: `Start of the command line, ${ROUNDS} rounds, each run in a process of its own`,
        rows,
        ratio: bare / median(times['gemel --help']),
        against: 'Node running nothing; one unit is gemel --help',
      };
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
};

export default bench;
