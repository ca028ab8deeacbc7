import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { normalSource, seededRandom } from '../../fitting/statistics/random.ts';
import { projectRoot } from '../../server/projectRoot.ts';
import { logStudy } from '../support/stackLog.ts';
import { FADE_LAWS } from './forecast/fadeLaws.ts';
import { simulateCell } from './forecast/simulatedFade.ts';
import { type Bench, type BenchRow, median, shareOf } from './harness.ts';
import { pulseRecordSample } from './pulseRecordSample.ts';

const ROUNDS = shareOf(3);
const program = join(projectRoot, 'dist/server/commands/main.js');

/** A command line, run with one thread and with all. */
interface Work {
  readonly name: string;
  readonly args: readonly string[];
}

/** Runs a command of the built program. @returns seconds, and what it wrote */
function command(folder: string, args: readonly string[], workers: number | null) {
  const { GEMEL_WORKERS: _other, ...variables } = process.env;
  const began = performance.now();
  const run = spawnSync(process.execPath, [program, ...args], {
    encoding: 'utf8',
    maxBuffer: 1 << 30,
    env: {
      ...variables,
      GEMEL_DATA: folder,
      ...(workers === null ? {} : { GEMEL_WORKERS: String(workers) }),
    },
  });
  if (run.status !== 0) throw new Error(`${args.join(' ')} ended with ${run.status}: ${run.stderr}`);
  return { seconds: (performance.now() - began) / 1000, text: run.stdout };
}

function writeStudy(file: string): void {
  const { converter: _converter, ...study } = logStudy();
  const cells = study.cells.map((cell) => ({
    ...cell,
    uncertainty: { capacityRelative: 0.02, r0Relative: 0.05, ocvV: 0.002, startSoc: 0.01 },
  }));
  const monteCarlo = { draws: shareOf(20_000, 200), seed: 5, level: 0.95 };
  writeFileSync(file, JSON.stringify({ ...study, cells, questions: { ...study.questions, monteCarlo } }));
}

/** Half of the cells to their end of life, half to six tenths of it. */
function writeFleet(file: string): void {
  const rows = Array.from({ length: shareOf(96, 4) }, (_, k) => {
    const { x, y, life } = simulateCell(FADE_LAWS[k % FADE_LAWS.length], k + 1);
    const until = k % 2 === 0 ? Infinity : 0.6 * life;
    return [...x].flatMap((at, i) => (at > until ? [] : [`F${k},${at},${(2.5 * y[i]).toFixed(5)}`]));
  });
  writeFileSync(file, ['cell,cycle,capacity_Ah', ...rows.flat()].join('\n'));
}

function writeCells(file: string): void {
  const normal = normalSource(seededRandom(3));
  const rows = Array.from(
    { length: shareOf(400, 20) },
    (_, k) => `C${k},${2.5 + 0.02 * normal()},${20 + 0.6 * normal()}`,
  );
  const header = 'cell,capacity_Ah,resistance_mOhm';
  writeFileSync(file, [header, ...rows].join('\n'));
}

const criteria = {
  features: [
    {
      name: 'capacity',
      quantity: 'capacity',
      column: 'capacity_Ah',
      tolerance: { kind: 'percent', value: 1 },
      standardUncertainty: { kind: 'absolute', value: 0.003 },
    },
    {
      name: 'resistance',
      quantity: 'resistance',
      column: 'resistance_mOhm',
      tolerance: { kind: 'percent', value: 3 },
      standardUncertainty: { kind: 'absolute', value: 0.0001 },
    },
  ],
  bootstrapRuns: shareOf(2000, 20),
  randomPairings: 10,
};

/** A lot of cells with a pulse record each. */
function fillLot(folder: string): void {
  const records = join(folder, 'records');
  mkdirSync(records);
  const { record } = pulseRecordSample();
  for (let c = 0; c < shareOf(60, 2); c++) {
    const rows = Array.from(
      record.timeS,
      (t, i) => `${t},${(record.voltageV[i] - 0.0001 * c).toFixed(4)},${record.currentA[i]}`,
    );
    writeFileSync(join(records, `P${c}.csv`), ['time_s,voltage_V,current_A', ...rows].join('\n'));
  }
  const type = ['--chemistry', 'NMC / graphite', '--rated-capacity', '2.5'];
  command(folder, ['cell-type', 'add', 'T', ...type], null);
  command(folder, ['lot', 'add', 'L', '--cell-type', 'T'], null);
  const named = ['--name-pattern', '{cell}.csv', '--test-kind', 'pulse', '--temperature', '25'];
  command(folder, ['import', records, '--lot', 'L', '--start-soc', '1', ...named], null);
}

function prepare(folder: string): Work[] {
  const file = (name: string) => join(folder, name);
  writeStudy(file('study.json'));
  writeFleet(file('fleet.csv'));
  writeCells(file('cells.csv'));
  writeFileSync(file('criteria.json'), JSON.stringify(criteria));
  fillLot(folder);
  return [
    { name: 'spread of a charge study', args: ['charge', file('study.json'), '--json'] },
    {
      name: 'forecasts of a fleet',
      args: ['evaluate', 'ageing', file('fleet.csv'), '--rated-capacity', '2.5', '--json'],
    },
    {
      name: 'repetitions of a pairing',
      args: ['pair', file('cells.csv'), '--criteria', file('criteria.json'), '--json'],
    },
    { name: 'evaluation of a lot', args: ['lot', 'evaluate', 'L', '--again', '--json'] },
  ];
}

const bench: Bench = {
  name: 'two-cores',
  async run() {
    const folder = mkdtempSync(join(tmpdir(), 'gemel-cores-'));
    try {
      const rows: BenchRow[] = [];
      const ratios: number[] = [];
      for (const { name, args } of prepare(folder)) {
        const [one, all]: [number[], number[]] = [[], []];
        for (let round = 0; round < ROUNDS; round++) {
          const alone = command(folder, args, 1);
          const shared = command(folder, args, null);
          if (alone.text !== shared.text) throw new Error(`${name}: another result with more threads`);
          one.push(alone.seconds);
          all.push(shared.seconds);
        }
        const ratio = median(one) / median(all);
        ratios.push(ratio);
        rows.push({ who: `${name}, all threads`, medianS: median(all), note: `${ratio.toFixed(2)} times` });
        rows.push({ who: `${name}, one thread`, medianS: median(one) });
      }
      return {
        name: 'two-cores',
        title: 'The same command with one thread and with one for each core, start included; same results',
        rows,
        ratio: Math.min(...ratios),
        against: `one thread; ${availableParallelism()} cores; the least of ${ratios.length} kinds of work`,
      };
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
};
export default bench;
