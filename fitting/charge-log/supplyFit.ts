import { checkResiduals } from '../circuit/index.ts';
import { estimateOf, fitLine } from '../least-squares/index.ts';
import { tQuantile } from '../statistics/index.ts';
import type { ChargeLog, InstrumentErrors } from './chargeLog.ts';

/** A value with its 95 % interval, or why there is none. */
export interface SupplyEstimate {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly reason: 'not-logged' | 'current-hardly-changes' | 'no-converter' | null;
}

/** What the log says of cable, connections and converter. */
export interface SupplyFit {
  /** Both conductors between source and converter, Ω. */
  readonly cableOhm: SupplyEstimate;
  /** Between the converter's output and the cells: stack voltage minus the sum of the cell voltages, Ω. */
  readonly stackOhm: SupplyEstimate;
  /** Output resistance of the converter, all paths together, Ω. */
  readonly converterOhm: SupplyEstimate;
  /** Input current of the converter beyond stack current / ratio, A. */
  readonly fixedLossA: SupplyEstimate;
}

/** The smallest current must differ from the largest by this share of it, or offset and resistance are one. */
const LEAST_CHANGE = 0.2;

/**
 * Resistances and fixed loss from straight lines through measured pairs, with a free intercept that takes up the constant errors of
 * the channels:
 *
 *   V_source − V_bus        = R_cable I_bus + c
 *   V_stack − Σ V_cell      = R_stack I + c
 *   V_bus / N − V_stack     = R_converter I + c
 *   I_bus − I / N           = I_fixed             (mean; the channels' own offsets stay in its interval)
 *
 * Intervals are Student's, with the rows counted as fewer where neighbouring residuals are correlated.
 *
 * @param ratio N of the converter; null where there is none
 */
export function fitSupply(log: ChargeLog, ratio: number | null, instrument: InstrumentErrors): SupplyFit {
  const { bus, currentA, stackVoltageV, sourceVoltageV } = log;
  const loaded = loadedRows(currentA);
  const pick = (value: (row: number) => number): Float64Array => Float64Array.from(loaded, value);
  const current = pick((row) => currentA[row]);
  const none: SupplyEstimate = { value: null, low: null, high: null, reason: 'not-logged' };
  const cells = (row: number) => log.cells.reduce((sum, cell) => sum + cell.voltageV[row], 0);
  const stackV = (row: number) => stackVoltageV?.[row] ?? cells(row);
  const n = ratio ?? 1;
  return {
    cableOhm:
      bus === null || sourceVoltageV === null
        ? none
        : resistance(
            pick((row) => bus.currentA[row]),
            pick((row) => sourceVoltageV[row] - bus.voltageV[row]),
          ),
    stackOhm:
      stackVoltageV === null
        ? none
        : resistance(
            current,
            pick((row) => stackVoltageV[row] - cells(row)),
          ),
    converterOhm:
      ratio === null
        ? { ...none, reason: 'no-converter' }
        : bus === null
          ? none
          : resistance(
              current,
              pick((row) => bus.voltageV[row] / n - stackV(row)),
            ),
    fixedLossA:
      ratio === null
        ? { ...none, reason: 'no-converter' }
        : bus === null
          ? none
          : meanOf(
              pick((row) => bus.currentA[row] - currentA[row] / n),
              Math.hypot(instrument.currentOffsetA, instrument.currentOffsetA / n),
            ),
  };
}

function loadedRows(currentA: Float64Array): number[] {
  const largest = currentA.reduce((most, value) => Math.max(most, value), 0);
  const rows: number[] = [];
  for (let row = 1; row + 1 < currentA.length; row++) {
    const steady =
      Math.abs(currentA[row] - currentA[row - 1]) <= 0.02 * largest &&
      Math.abs(currentA[row + 1] - currentA[row]) <= 0.02 * largest;
    if (currentA[row] > 0.02 * largest && steady) rows.push(row);
  }
  return rows;
}

function resistance(currentA: Float64Array, voltageV: Float64Array): SupplyEstimate {
  const largest = currentA.reduce((most, value) => Math.max(most, value), 0);
  const smallest = currentA.reduce((least, value) => Math.min(least, value), largest);
  if (currentA.length < 10 || largest - smallest < LEAST_CHANGE * largest)
    return { value: null, low: null, high: null, reason: 'current-hardly-changes' };
  const line = fitLine(currentA, voltageV);
  const slope = estimateOf(line, 'slope');
  const intercept = estimateOf(line, 'intercept').value;
  const residuals = voltageV.map((value, i) => value - intercept - slope.value * currentA[i]);
  const { rowsPerIndependent } = checkResiduals(residuals);
  const degrees = Math.max(1, currentA.length / rowsPerIndependent - 2);
  const half = tQuantile(0.975, degrees) * (slope.standardError ?? 0) * Math.sqrt(rowsPerIndependent);
  return { value: slope.value, low: slope.value - half, high: slope.value + half, reason: null };
}

function meanOf(values: Float64Array, systematic: number): SupplyEstimate {
  const n = values.length;
  if (n < 10) return { value: null, low: null, high: null, reason: 'not-logged' };
  const value = values.reduce((sum, one) => sum + one, 0) / n;
  const residuals = values.map((one) => one - value);
  const sd = Math.sqrt(residuals.reduce((sum, one) => sum + one * one, 0) / (n - 1));
  const { rowsPerIndependent } = checkResiduals(residuals);
  const random = sd * Math.sqrt(rowsPerIndependent / n);
  const half = tQuantile(0.975, Math.max(1, n / rowsPerIndependent - 1)) * Math.hypot(random, systematic);
  return { value, low: value - half, high: value + half, reason: null };
}
