import { evaluateCapacityRecord } from '../../server/assess/capacity/evaluateCapacityRecord.ts';
import { type DischargeOptions, simulateDischarge } from '../support/dischargeRecord.ts';
import { type Bench, type BenchResult, shareOf } from './harness.ts';

const instruments: Readonly<Record<string, Partial<DischargeOptions>>> = {
  'ordinary noise': { noiseV: 2e-4, noiseA: 1e-3 },
  'much noise': { noiseV: 2e-3, noiseA: 0.015 },
  '1 mV and 5 mA steps': { noiseV: 2e-4, noiseA: 1e-3, resolutionV: 1e-3, resolutionA: 5e-3 },
  'offset of 10 mA': { noiseV: 2e-4, noiseA: 2e-3, offsetA: 0.01 },
  '5 mA, any offset': {
    noiseV: 2e-4,
    noiseA: 1e-3,
    resolutionV: 1e-3,
    resolutionA: 5e-3,
    offsetSpreadA: 5e-3,
  },
  'averaged current': { noiseV: 2e-4, noiseA: 1e-3, averaged: true },
};

const RECORDS = shareOf(500, 2);

/**
 * Share of the 95 % intervals of the capacity that hold the truth, in each scenario; and how far off the values are.
 *
 * A record whose rows keep their own time does not show whether its tester switches at a row, right after one, or anywhere
 * between two. An interval that covers 95 % of the records of a tester that always switches at one end of the interval covers
 * nearly all of those of a tester that switches anywhere: there, coverage near 100 % is what is unknown, and not slack.
 */
async function run(): Promise<BenchResult> {
  const lines = [
    `rows    instrument           switched    tester        covered  missing  median error  median half-width (mAh)`,
  ];
  const started = performance.now();
  let evaluated = 0;
  for (const intervalS of [1, 10, 60, 300]) {
    for (const [name, made] of Object.entries(instruments)) {
      for (const phase of ['anywhere', 'after-row', 'at-row'] as const) {
        for (const stops of [true, false]) {
          const count = intervalS === 1 ? RECORDS / 10 : RECORDS;
          const { inside, errors, halves } = scenario(count, { ...made, intervalS, phase, stops });
          evaluated += count;
          const covered = errors.length > 0 ? (100 * inside) / errors.length : Number.NaN;
          lines.push(
            `${`${intervalS} s`.padEnd(7)} ${name.padEnd(20)} ${phase.padEnd(11)} ${(stops ? 'stops there' : 'goes on').padEnd(13)} ${covered.toFixed(1).padStart(6)}   ${String(count - errors.length).padStart(6)}  ${middle(errors).toFixed(2).padStart(12)}  ${middle(halves).toFixed(2).padStart(12)}`,
          );
        }
      }
    }
  }
  return {
    name: 'capacity-coverage',
    title: 'Coverage of the 95 % interval of the capacity over seeded records',
    rows: [{ who: 'gemel, one record', medianS: (performance.now() - started) / 1000 / evaluated }],
    ratio: null,
    against: 'none: the table is the result',
    remarks: lines,
  };
}

function scenario(
  count: number,
  options: Omit<DischargeOptions, 'seed'>,
): { inside: number; errors: number[]; halves: number[] } {
  const errors: number[] = [];
  const halves: number[] = [];
  let inside = 0;
  for (let seed = 1; seed <= count; seed++) {
    const { record, trueAh, cutoffV } = simulateDischarge({ ...options, seed });
    const [found] = evaluateCapacityRecord(record, {
      cutoffVoltageV: cutoffV,
      definition: 'interpolated-crossing',
      ratedCapacityAh: 2.5,
    }).runs;
    const interval = found?.interval95Ah ?? null;
    if (found === undefined || found.capacityAh === null || interval === null) continue;
    errors.push(1000 * Math.abs(found.capacityAh - trueAh));
    halves.push(500 * (interval[1] - interval[0]));
    if (trueAh >= interval[0] && trueAh <= interval[1]) inside++;
  }
  return { inside, errors, halves };
}

function middle(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1] ?? Number.NaN;
}

const bench: Bench = { name: 'capacity-coverage', run };
export default bench;
