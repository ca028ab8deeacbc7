import { availableParallelism } from 'node:os';
import { performance } from 'node:perf_hooks';
import { Worker } from 'node:worker_threads';
import { mergeCoverage, type ScenarioCoverage } from '../support/pulseCoverage.ts';
import { coverageTable, FEWEST, outsideOf } from '../support/pulseCoverageTable.ts';
import { pulseScenarios } from '../support/pulseScenarios.ts';
import { type Bench, type BenchResult, shareOf } from './harness.ts';

/** Records of each scenario; a smaller number may be asked for in the environment. */
const records = Number(process.env.COVERAGE_RECORDS ?? shareOf(500, 2));
/** Only scenarios whose name matches this pattern, where one is given. */
const wanted = new RegExp(process.env.COVERAGE_SCENARIOS ?? '');
const scenarios = pulseScenarios.flatMap((scenario, index) =>
  wanted.test(scenario.name) ? [{ scenario, index }] : [],
);
/** Records that a worker takes at a time. */
const portion = 25;

/** One part of a scenario for a worker. */
interface Task {
  readonly scenario: number;
  readonly firstSeed: number;
  readonly records: number;
}

/** The wanted scenarios, counted by as many workers as there are cores. */
function countAll(): Promise<ScenarioCoverage[]> {
  const tasks: Task[] = scenarios.flatMap(({ index: scenario }) =>
    Array.from({ length: Math.ceil(records / portion) }, (__, k) => ({
      scenario,
      firstSeed: 1 + k * portion,
      records: Math.min(portion, records - k * portion),
    })),
  );
  const counted: ScenarioCoverage[] = pulseScenarios.map(() => ({ records: 0, quantities: {}, said: {} }));
  const workers = Math.min(availableParallelism(), tasks.length);
  let next = 0;
  return new Promise((resolve, reject) => {
    let running = workers;
    for (let w = 0; w < workers; w++) {
      const worker = new Worker(new URL('coverageWorker.mjs', import.meta.url));
      const give = (): void => {
        if (next < tasks.length) worker.postMessage(tasks[next++]);
        else {
          void worker.terminate();
          running--;
          if (running === 0) resolve(counted);
        }
      };
      worker.on('error', reject);
      worker.on('message', ({ scenario, found }: { scenario: number; found: ScenarioCoverage }) => {
        mergeCoverage(counted[scenario], found);
        give();
      });
      give();
    }
  });
}

async function run(): Promise<BenchResult> {
  const began = performance.now();
  const counted = await countAll();
  const seconds = (performance.now() - began) / 1000;
  const outside = scenarios.flatMap(({ scenario, index }) => outsideOf(scenario, counted[index]));
  return {
    name: 'coverage',
    title: `Share of reported 95 % intervals that hold the truth, ${records} records of each scenario`,
    against: 'the truth of the simulated cells',
    ratio: null,
    rows: [{ who: 'reading and evaluating one record', medianS: seconds / (records * scenarios.length) }],
    remarks: [
      ...coverageTable(scenarios.map(({ scenario, index }) => ({ scenario, coverage: counted[index] }))),
      '',
      records < FEWEST
        ? `fewer than ${FEWEST} records of each kind: nothing is judged`
        : outside.length === 0
          ? 'every interval is within 92 to 98 %; those conditional on the edge hold in 92 % or more'
          : `outside 92 to 98 %: ${outside.join('; ')}`,
    ],
  };
}

const bench: Bench = { name: 'coverage', run };
export default bench;
