import type { RecordColumns, RowRange } from '../records/index.ts';

/** The state just before a step of current. */
export interface BaseVoltage {
  readonly voltageV: number;
  readonly currentA: number;
  /** From noise and resolution. */
  readonly standardUncertaintyV: number;
  /** How the voltage was moving before the step, in V/s. */
  readonly driftVPerS: number;
  /** Rows averaged. */
  readonly rows: number;
}

/**
 * Voltage and current just before row `range.end`: the mean of the last rows within 2 s (at most ten), and
 * the slope over the last 30 s (or the last four rows where sampling is slower).
 *
 * The uncertainty falls with averaging only down to what quantisation leaves (step/√12).
 */
export function baseVoltage(
  record: RecordColumns,
  range: RowRange,
  noiseV: number,
  resolutionV: number,
): BaseVoltage {
  const { timeS, voltageV, currentA } = record;
  const last = range.end - 1;
  let first = last;
  while (first > range.start && last - first < 9 && timeS[last] - timeS[first - 1] <= 2) first--;
  const rows = last - first + 1;
  let voltage = 0;
  let current = 0;
  for (let i = first; i <= last; i++) {
    voltage += voltageV[i] / rows;
    current += currentA[i] / rows;
  }
  return {
    voltageV: voltage,
    currentA: current,
    standardUncertaintyV: Math.max(noiseV / Math.sqrt(rows), resolutionV / Math.sqrt(12)),
    driftVPerS: driftBefore(timeS, voltageV, range),
    rows,
  };
}

function driftBefore(timeS: Float64Array, voltageV: Float64Array, range: RowRange): number {
  const last = range.end - 1;
  let first = last;
  while (first > range.start && (timeS[last] - timeS[first] < 30 || last - first < 3)) first--;
  const rows = last - first + 1;
  if (rows < 3) return 0;
  let meanT = 0;
  let meanV = 0;
  for (let i = first; i <= last; i++) {
    meanT += (timeS[i] - timeS[last]) / rows;
    meanV += voltageV[i] / rows;
  }
  let products = 0;
  let squares = 0;
  for (let i = first; i <= last; i++) {
    const t = timeS[i] - timeS[last] - meanT;
    products += t * (voltageV[i] - meanV);
    squares += t * t;
  }
  return squares > 0 ? products / squares : 0;
}
