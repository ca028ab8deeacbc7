import type { ChargeLog, InstrumentErrors } from '../../../fitting/charge-log/index.ts';
import type { CountedCapacity } from '../../contract/chargeLogResult.ts';
import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { LogConditions } from './logConditions.ts';

const NORMAL_95 = 1.959963984540054;
/**
 * What goes in against what the discharge before took out, relative standard uncertainty: side reactions, self-discharge, the moment of
 * the cut-off. Common practice for cells near room temperature, no source.
 */
const IN_AGAINST_OUT = 0.01;
/** A charge to this current, as a share of the capacity per hour, is a full one; common practice. */
const FULL_RATE = 0.1;
/** The limit that was held may be this far below the datasheet's. */
const FULL_WITHIN_V = 0.02;

/**
 * Capacity of what was charged, from the charge that went in between two known states: emptied to its cut-off by the discharge before the
 * log (which only a person can state) and full, held at the datasheet's voltage until the current had fallen. No model takes part in it: it
 * holds for an aged cell whose open-circuit curve nobody has measured. Of a stack it is that between its first empty and its first full cell.
 *
 * The interval holds the current channel's offset and gain, the moments of the steps, and that charge in is not charge out.
 */
export function countedCapacity(
  log: ChargeLog,
  conditions: LogConditions,
  study: ChargeStudyDescription,
  instrument: InstrumentErrors,
  startsEmpty: boolean,
): CountedCapacity {
  const of = log.cells.length === 1 ? 'cell' : 'stack';
  const none = (reason: CountedCapacity['reason']): CountedCapacity => ({
    ...{ of, valueAh: null, standardError: null, low: null, high: null, reason },
  });
  if (!startsEmpty) return none('start-not-stated-empty');
  if (!conditions.beginsAtRest) return none('begins-under-current');
  if (!endsFull(conditions, study)) return none('does-not-end-full');
  const { timeS, currentA } = log;
  const first = Math.max(0, conditions.firstRow - 1);
  const last = Math.min(timeS.length - 1, conditions.lastRow + 1);
  let valueAh = conditions.movedBeforeAh;
  let edgeAs2 = 0;
  for (let row = first + 1; row <= last; row++) {
    const interval = timeS[row] - timeS[row - 1];
    valueAh += (interval * (currentA[row] + currentA[row - 1] - 2 * conditions.offsetA)) / 7200;
    // The current may have jumped anywhere in the interval.
    edgeAs2 += (interval * (currentA[row] - currentA[row - 1])) ** 2 / 12;
  }
  const hours = (timeS[last] - timeS[first]) / 3600;
  const standardError = Math.hypot(
    valueAh * Math.hypot(instrument.currentGain, IN_AGAINST_OUT),
    instrument.currentOffsetA * hours,
    Math.sqrt(edgeAs2) / 3600,
  );
  const half = NORMAL_95 * standardError;
  return { of, valueAh, standardError, low: valueAh - half, high: valueAh + half, reason: null };
}

/** Whether the charge ended at the datasheet's voltage with a small current. */
export function endsFull({ taper, endCurrentA }: LogConditions, { cells }: ChargeStudyDescription): boolean {
  if (taper === null || taper.held !== 'cell') return false;
  const limitV = Math.min(...cells.map(({ datasheet }) => datasheet.maxVoltageV));
  const capacityAh = Math.min(...cells.map((cell) => cell.ratedCapacityAh ?? cell.capacityAh));
  return taper.limitV >= limitV - FULL_WITHIN_V && endCurrentA <= FULL_RATE * capacityAh;
}
