import type { RecordColumns } from '../records/index.ts';
import { cumulativeChargeAh } from '../records/index.ts';
import type { ChargeRun } from './findRuns.ts';

/** Time from the first loaded row until a share of a charge was put in. */
export interface ChargeTime {
  readonly soc: number;
  readonly timeS: number | null;
  readonly reason: 'did-not-reach-cutoff' | 'too-few-samples' | null;
}

/**
 * Times to states of charge during one charge, interpolated on the running charge.
 *
 * @param basisAh charge that counts as SOC 1; null: what this charge put in itself, counted from SOC 0
 * @param startSoc state of charge at the start of the run; default 0
 * @param socs states of charge asked for, 0…1
 * @throws RangeError when the run is a discharge or a SOC is outside 0…1
 */
export function chargeTimes(
  record: RecordColumns,
  run: ChargeRun,
  basisAh: number | null = null,
  startSoc = 0,
  socs: readonly number[] = [0.5, 0.8, 1],
): ChargeTime[] {
  if (run.direction !== 'charge') throw new RangeError('chargeTimes needs a charge, got a discharge');
  const range = { start: run.firstLoadedRow, end: run.lastLoadedRow + 1 };
  const moved = cumulativeChargeAh(record);
  const running = moved.slice(range.start, range.end).map((value) => value - moved[range.start]);
  const total = running[running.length - 1] ?? 0;
  const basis = basisAh ?? total / (1 - startSoc);
  return socs.map((soc) => {
    if (!(soc >= 0 && soc <= 1)) throw new RangeError(`soc must be between 0 and 1, got ${soc}`);
    if (running.length < 2 || !(total > 0)) return { soc, timeS: null, reason: 'too-few-samples' };
    const wanted = (soc - startSoc) * basis;
    // The last digits of a sum are rounding: a charge counts as reached within one part in 10⁹.
    if (wanted > total * (1 + 1e-9)) return { soc, timeS: null, reason: 'did-not-reach-cutoff' };
    let k = 0;
    while (k < running.length - 1 && running[k] < wanted * (1 - 1e-9)) k++;
    const start = record.timeS[range.start];
    if (k === 0) return { soc, timeS: 0, reason: null };
    const rise = running[k] - running[k - 1];
    const fraction = rise > 0 ? Math.min(1, (wanted - running[k - 1]) / rise) : 1;
    const before = record.timeS[range.start + k - 1];
    const timeS = before + fraction * (record.timeS[range.start + k] - before) - start;
    return { soc, timeS, reason: null };
  });
}
