import type { ChargeRun, CountingQuality } from '../../../fitting/capacity/index.ts';
import type { BadReading } from '../../../fitting/records/index.ts';
import type { CapacityResult, CapacityRun } from '../../contract/capacity.ts';
import type { CapacitySettings, DescribedRun } from './evaluateCapacityRecord.ts';

type Code = CapacityResult['warnings'][number]['code'];

/** What a reader should know about a record before trusting its capacities. */
export function capacityWarnings(found: {
  readonly described: readonly DescribedRun[];
  readonly runs: readonly ChargeRun[];
  readonly bad: readonly BadReading[];
  readonly quality: CountingQuality;
  readonly settings: CapacitySettings;
}): CapacityResult['warnings'] {
  const { described, runs, bad, quality, settings } = found;
  const results = described.map((one) => one.result);
  const warnings: CapacityResult['warnings'] = [];
  const add = (code: Code, which: readonly CapacityRun[], rows: readonly number[] = []): void => {
    if (which.length > 0) warnings.push({ code, runs: which.map((run) => run.index), rows: [...rows] });
  };
  const addRows = (code: Code, rowsOf: (one: DescribedRun) => readonly number[]): void => {
    const about = described.filter((one) => rowsOf(one).length > 0);
    add(
      code,
      about.map((one) => one.result),
      about.flatMap((one) => [...rowsOf(one)]),
    );
  };
  if (results.length === 0) warnings.push({ code: 'no-runs', runs: [], rows: [] });
  if (settings.cutoffVoltageV === null)
    add(
      'cutoff-taken-from-record',
      results.filter((run) => run.direction === 'discharge'),
    );
  const having = (code: Code, holds: (run: CapacityRun) => boolean): void => add(code, results.filter(holds));
  having('voltage-against-current', (run) => run.reason === 'voltage-against-current');
  having(
    'starts-under-load',
    (run) => run.reason === 'starts-under-load' || run.conditional === 'starts-under-load',
  );
  having('ends-under-load', (run) => run.conditional === 'ends-under-load');
  having('implausible-capacity', (run) => !run.plausible);
  having('did-not-reach-cutoff', (run) => run.reason === 'did-not-reach-cutoff');
  addRows('gap-in-record', ({ gaps }) => gaps.filter((gap) => gap.kind !== 'paused').map((gap) => gap.row));
  addRows('pause-without-rows', ({ gaps }) =>
    gaps.filter((gap) => gap.kind === 'paused').map((gap) => gap.row),
  );
  addRows('dip-below-cutoff', ({ dipRows }) => dipRows);
  addRows('start-up-spike-ignored', ({ result }) => runs[result.index].oppositeRows);
  if (bad.length > 0) {
    const within = (run: CapacityRun): boolean =>
      bad.some(({ row }) => row >= run.startRow && row < run.endRow);
    warnings.push({
      code: 'bad-rows-replaced',
      runs: results.filter(within).map((run) => run.index),
      rows: [...new Set(bad.map(({ row }) => row))],
    });
  }
  if (quality.offsetShows) warnings.push({ code: 'current-offset-corrected', runs: [], rows: [] });
  return warnings;
}
