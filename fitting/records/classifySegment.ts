import { medianOf } from '../numeric/index.ts';
import type { CurrentScale } from './currentScale.ts';
import type { RecordColumns, RowRange } from './record.ts';
import type { StepKind } from './step.ts';
import { loadSign } from './stepCuts.ts';

/** A stretch with the control mode found for it. */
export interface ClassifiedRange extends RowRange {
  readonly kind: StepKind;
}

/** Median current of the rows after the first two (where there are more than four): the settled level. */
export function settledCurrent(currentA: Float64Array, range: RowRange): number {
  const rows = range.end - range.start;
  const from = rows > 4 ? range.start + 2 : rows > 1 ? range.start + 1 : range.start;
  return medianOf(currentA.subarray(from, range.end));
}

/**
 * Tells rest, constant current, constant voltage and ramp apart, and cuts a constant-current phase from the
 * constant-voltage (or changing) phase that follows it without a jump.
 *
 * Constant current: after the first two rows 98 % of the rows within 2 % of the median, clear of noise and
 * resolution. Constant voltage: nine tenths of the voltages within 5 mV (or three resolution steps) of their
 * median while the current falls by more than its tolerance.
 */
export function classifySegment(
  record: RecordColumns,
  range: RowRange,
  scale: CurrentScale,
  voltageResolutionV: number,
): ClassifiedRange[] {
  if (loadSign(settledCurrent(record.currentA, range), scale) === 0) return [{ ...range, kind: 'rest' }];
  if (isSteady(record.currentA, range, scale)) return [{ ...range, kind: 'constant-current' }];
  const prefixEnd = steadyPrefixEnd(record.currentA, range, scale);
  const rest = { start: prefixEnd, end: range.end };
  if (prefixEnd - range.start >= 3 && range.end - prefixEnd >= 3) {
    return [
      { start: range.start, end: prefixEnd, kind: 'constant-current' },
      { ...rest, kind: changingKind(record, rest, voltageResolutionV) },
    ];
  }
  return [{ ...range, kind: changingKind(record, range, voltageResolutionV) }];
}

function tolerance(levelA: number, scale: CurrentScale, share: number): number {
  return Math.max(share * Math.abs(levelA), 5 * scale.loadNoiseA, 2 * scale.resolutionA);
}

function isSteady(currentA: Float64Array, range: RowRange, scale: CurrentScale): boolean {
  if (range.end - range.start <= 2) return true;
  const level = settledCurrent(currentA, range);
  const allowed = tolerance(level, scale, 0.02);
  let outside = 0;
  for (let i = range.start + 2; i < range.end; i++) if (Math.abs(currentA[i] - level) > allowed) outside++;
  return outside <= 0.02 * (range.end - range.start);
}

function steadyPrefixEnd(currentA: Float64Array, range: RowRange, scale: CurrentScale): number {
  const from = Math.min(range.start + 1, range.end - 1);
  const level = medianOf(currentA.subarray(from, Math.min(range.end, from + 5)));
  const allowed = tolerance(level, scale, 0.01);
  let row = from;
  let misses = 0;
  while (row < range.end && misses < 3) {
    misses = Math.abs(currentA[row] - level) > allowed ? misses + 1 : 0;
    row++;
  }
  return row - misses;
}

function changingKind(record: RecordColumns, range: RowRange, voltageResolutionV: number): StepKind {
  const voltages = [...record.voltageV.subarray(range.start, range.end)];
  const middle = medianOf(voltages);
  const allowed = Math.max(0.005, 3 * voltageResolutionV);
  const near = voltages.filter((voltage) => Math.abs(voltage - middle) <= allowed).length;
  const first = Math.abs(record.currentA[range.start]);
  const last = Math.abs(record.currentA[range.end - 1]);
  return near >= 0.9 * voltages.length && last <= first ? 'constant-voltage' : 'ramp';
}
