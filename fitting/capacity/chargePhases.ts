import type { RecordColumns, RowRange } from '../records/index.ts';
import type { ChargeRun } from './findRuns.ts';
import { chargeAndEnergy } from './integrals.ts';

/** Constant-current and constant-voltage parts of one charge, in Ah, s and as shares of the charge put in. */
export interface ChargePhases {
  readonly constantCurrentAh: number;
  readonly constantVoltageAh: number;
  readonly constantCurrentShare: number;
  readonly constantVoltageShare: number;
  readonly constantCurrentS: number;
  readonly constantVoltageS: number;
  /** Median voltage of the constant-voltage part; null where there is none. */
  readonly holdVoltageV: number | null;
  /** Current of the last loaded row. */
  readonly endCurrentA: number;
}

/** How near to the highest voltage, in V, a sample counts as held there. */
const HOLD_BAND_V = 0.01;
/** The current must have fallen to this share of the constant current before the voltage counts as held. */
const TAPER_SHARE = 0.98;

/**
 * Splits a charge where the voltage begins to be held: the first row from which on the voltage stays within 10 mV of
 * the run's highest plateau (its 95th percentile under load) while the current has left the constant level (median
 * of the rows before). A charge that ends at its voltage limit without a taper has no constant-voltage part.
 *
 * @throws RangeError when the run is a discharge
 */
export function chargePhases(record: RecordColumns, run: ChargeRun): ChargePhases {
  if (run.direction !== 'charge') throw new RangeError('chargePhases needs a charge, got a discharge');
  const loaded: RowRange = { start: run.firstLoadedRow, end: run.lastLoadedRow + 1 };
  const split = holdStart(record, loaded);
  const constantCurrent = chargeAndEnergy(record, {
    start: loaded.start,
    end: Math.min(split + 1, loaded.end),
  });
  const constantVoltage = chargeAndEnergy(record, { start: split, end: loaded.end });
  const total = constantCurrent.chargeAh + constantVoltage.chargeAh;
  const { timeS, voltageV, currentA } = record;
  const held = split < loaded.end - 1;
  const share = total > 0 ? constantVoltage.chargeAh / total : 0;
  const splitRow = Math.min(split, loaded.end - 1);
  return {
    constantCurrentAh: constantCurrent.chargeAh,
    constantVoltageAh: constantVoltage.chargeAh,
    constantCurrentShare: 1 - share,
    constantVoltageShare: share,
    constantCurrentS: timeS[splitRow] - timeS[loaded.start],
    constantVoltageS: timeS[loaded.end - 1] - timeS[splitRow],
    holdVoltageV: held ? middle(voltageV.slice(split, loaded.end)) : null,
    endCurrentA: currentA[loaded.end - 1],
  };
}

/** First row of the constant-voltage part, or `range.end` where there is none. */
function holdStart(record: RecordColumns, range: RowRange): number {
  const { voltageV, currentA } = record;
  const levels = Float64Array.from(voltageV.slice(range.start, range.end)).sort();
  const plateau = levels[Math.floor(0.95 * (levels.length - 1))];
  let row = range.end;
  while (row > range.start && voltageV[row - 1] >= plateau - HOLD_BAND_V) row--;
  if (row === range.end) return range.end;
  const level = row > range.start ? middle(currentA.slice(range.start, row)) : currentA[range.start];
  while (row < range.end && currentA[row] > TAPER_SHARE * level) row++;
  return row > range.start ? Math.max(range.start, row - 1) : row;
}

function middle(values: Float64Array): number {
  const sorted = values.sort();
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}
