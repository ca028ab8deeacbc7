import { medianOf } from '../numeric/index.ts';
import type { RecordColumns } from '../records/index.ts';
import type { ChargeRun } from './findRuns.ts';

/**
 * How a run begins.
 * - `in-record`: a rest, or a current of the other direction, stands before it;
 * - `fresh`: the record begins under load, and the voltage settles as it does after switching on;
 * - `under-way`: the record begins under load, and the voltage moves on as in the middle of a run;
 * - `unclear`: the record begins under load, and the voltage tells neither.
 */
export type RunStart = 'in-record' | 'fresh' | 'under-way' | 'unclear';

/** Shortest window over which the settling is looked at, in s and in rows. */
const WINDOW_S = 30;
const WINDOW_ROWS = 3;
/** Ratio of the first window's change to the second one's from which on a voltage settles, and up to which it does not. */
const SETTLES_FROM = 1.3;
const STEADY_UP_TO = 1.15;

/**
 * Whether the beginning of a run is in the record.
 *
 * @param noiseV noise of one voltage reading
 */
export function runStart(record: RecordColumns, run: ChargeRun, noiseV: number): RunStart {
  const { timeS, voltageV, currentA } = record;
  const first = run.firstLoadedRow;
  if (first > 0 && timeS[first] >= timeS[first - 1]) return 'in-record';
  const sign = run.direction === 'charge' ? 1 : -1;
  let rows = WINDOW_ROWS;
  while (first + 2 * rows < run.lastLoadedRow && timeS[first + rows] - timeS[first] < WINDOW_S) rows++;
  const [middle, last] = [first + rows, first + 2 * rows];
  if (last > run.lastLoadedRow) return 'unclear';
  const early = sign * (voltageV[middle] - voltageV[first]);
  const late = sign * (voltageV[last] - voltageV[middle]);
  // A current that already tapers at a held voltage is the end of a charge.
  const tapers = Math.abs(currentA[last]) < 0.98 * Math.abs(currentA[first]);
  if (tapers && Math.abs(early) + Math.abs(late) < Math.max(12 * noiseV, 0.005)) return 'under-way';
  if (!(early > 6 * noiseV)) return 'unclear';
  if (late <= 0 || early / late >= SETTLES_FROM) return 'fresh';
  return early / late <= STEADY_UP_TO && late > 6 * noiseV ? 'under-way' : 'unclear';
}

/** Share of a run's charge from which on a voltage that moves against the current contradicts its direction. */
const AGAINST_SHARE = 0.2;

/**
 * Whether the voltage contradicts the direction of a run: over the stretches of about one current it falls in a charge, or
 * rises in a discharge, for more than a fifth of the charge moved. The current is then signed the other way round, or not
 * signed at all.
 */
export function contradictsVoltage(record: RecordColumns, run: ChargeRun, noiseV: number): boolean {
  const { timeS, voltageV, currentA } = record;
  const sign = run.direction === 'charge' ? 1 : -1;
  const least = Math.max(10 * noiseV, 0.005);
  let all = 0;
  let against = 0;
  for (let start = run.firstLoadedRow; start <= run.lastLoadedRow; ) {
    let end = start + 1;
    const level = sign * currentA[start];
    while (end <= run.lastLoadedRow && Math.abs(sign * currentA[end] - level) <= 0.05 * level) end++;
    const lastedS = timeS[end - 1] - timeS[start];
    if (level > 0 && lastedS > 0) {
      all += level * lastedS;
      // Medians of the first and the last fifth: a dip after switching on, or a fall at the end, is not the way it goes.
      // The row at either end may hold a current averaged over a switch and a voltage read after it.
      const trim = end - start > 3 ? 1 : 0;
      const fifth = Math.ceil((end - start) / 5);
      const early = medianOf(voltageV.subarray(start + trim, start + trim + fifth));
      const late = medianOf(voltageV.subarray(end - trim - fifth, end - trim));
      if (sign * (late - early) < -least) against += level * lastedS;
    }
    start = end;
  }
  return against > AGAINST_SHARE * all;
}
