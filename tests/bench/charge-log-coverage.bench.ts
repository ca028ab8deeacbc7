import { normalQuantile } from '../../fitting/statistics/distributions.ts';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { evaluateChargeLogs } from '../../server/assess/charge-log/evaluateChargeLogs.ts';
import type { ChargeLogQuantity } from '../../server/contract/chargeLogResult.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { readChargeLog } from '../../server/import/chargeLogTable.ts';
import { readTable } from '../../server/import/readTableFile.ts';
import { logStudy, stackLogRows, stackLogText, usualBench, usualTruth } from '../support/stackLog.ts';
import { type Bench, type BenchResult, shareOf } from './harness.ts';

/** Logs; GEMEL_BENCH_LOGS sets another number. */
const LOGS = Number(process.env.GEMEL_BENCH_LOGS ?? shareOf(200, 2));
/** Seed of the first log's noise; GEMEL_BENCH_FIRST_SEED sets another, for logs that nothing was chosen on. */
const FIRST_SEED = Number(process.env.GEMEL_BENCH_FIRST_SEED ?? 1);
/** Standard deviation of the current channel's gain, as a fit takes it where nothing is stated. */
const USUAL_GAIN = 0.001;
const QUANTITIES: ChargeLogQuantity[] = ['capacity', 'start-soc', 'r0', 'branches'];
const TRUTHS = new Map<string, number>([
  ['capacityAh A', 3],
  ['capacityAh B', 3],
  ['startSoc A', usualTruth.startSoc[0]],
  ['startSoc B', usualTruth.startSoc[1]],
  ['r0Factor A', usualTruth.r0Factor[0]],
  ['r0Factor B', usualTruth.r0Factor[1]],
  ['branchFactor A', 1],
  ['branchFactor B', 1],
]);

/**
 * Gains of the current channel, one a log: quantiles of their distribution in random order, so that a run of any length draws all of it.
 * They decide most of a fitted capacity, and 200 free draws can hold 7 % of them outside 95 %.
 */
function gains(count: number): number[] {
  const random = seededRandom(2000);
  return Array.from({ length: count }, (_, i) => ({ at: random(), gain: normalQuantile((i + 0.5) / count) }))
    .sort((a, b) => a.at - b.at)
    .map(({ gain }) => USUAL_GAIN * gain);
}

/** Share of 95 % intervals that hold the truth over seeded logs of a stack with an odd cell, and how often that cell is named. */
async function run(): Promise<BenchResult> {
  const study = logStudy();
  const drawn = gains(LOGS);
  const inside = new Map<string, number>();
  let [named, changed] = [0, 0];
  const started = performance.now();
  for (const [i, currentGain] of drawn.entries()) {
    const text = stackLogText(stackLogRows(usualTruth, { ...usualBench(FIRST_SEED + i), currentGain }));
    const read = readChargeLog(await readTable(bufferSource(Buffer.from(text))));
    const columns = read.columns.map(({ unit, ...column }) => ({ ...column, unit: unit.symbol }));
    const { fit, comparison } = evaluateChargeLogs([{ ...read, columns }], study, { fit: QUANTITIES });
    for (const { quantity, cell, low, high } of fit?.estimates ?? []) {
      const key = `${quantity} ${cell}`;
      const truth = TRUTHS.get(key);
      if (truth === undefined || low === null || high === null) continue;
      if (truth >= low && truth <= high) inside.set(key, (inside.get(key) ?? 0) + 1);
    }
    const best = fit?.singleChanges[0];
    if (best?.quantity === 'r0Factor' && best.cell === 'B') named += 1;
    if (comparison.verdict.some((sentence) => /R0 of B \+2\d\.\d %/.test(sentence))) changed += 1;
  }
  const share = (count: number) => `${((100 * count) / LOGS).toFixed(1)} %`;
  const all = [...TRUTHS.keys()].reduce((sum, key) => sum + (inside.get(key) ?? 0), 0);
  return {
    name: 'charge-log-coverage',
    title: 'Coverage of the 95 % intervals of a fitted log over seeded logs',
    rows: [{ who: 'gemel, one log', medianS: (performance.now() - started) / 1000 / LOGS }],
    ratio: null,
    against: 'none: the table is the result',
    remarks: [
      ...[...TRUTHS].map(
        ([key, truth]) =>
          `${key.padEnd(16)} truth ${String(truth).padEnd(6)} covered ${share(inside.get(key) ?? 0)}`,
      ),
      `all parameters: ${share(all / TRUTHS.size)} of ${LOGS} logs`,
      `culprit right (R0 of B first among single changes): ${share(named)}; said in the verdict: ${share(changed)}`,
    ],
  };
}

export default { name: 'charge-log-coverage', run } satisfies Bench;
