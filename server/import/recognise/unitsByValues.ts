import type { QuantityName } from '../../contract/measurements.ts';
import type { Unit } from '../units.ts';
import { parseUnit } from '../units.ts';
import { unitOfTableQuantity } from './quantities.ts';

/**
 * Between which values, in the unit we keep, a lithium cell of any size lies, from a button cell to a large prismatic one.
 * Common practice, no source.
 */
const possible: Partial<Record<QuantityName, readonly [number, number]>> = {
  capacity: [0.01, 400],
  'charge-capacity': [0.01, 400],
  energy: [0.03, 1500],
  'charge-energy': [0.03, 1500],
  ocv: [1, 5],
  mass: [0.3, 20_000],
  thickness: [0.3, 120],
  'coulombic-efficiency': [0.3, 1.1],
  'energy-efficiency': [0.3, 1.1],
};
const possibleResistanceOhm = [5e-5, 2] as const;
/** Resistance times capacity hardly depends on the size of a cell: Ω·A·h of lithium cells, common practice. */
const possibleProductOhmAh = [0.005, 2] as const;

const candidates: Partial<Record<QuantityName, readonly string[]>> = {
  capacity: ['Ah', 'mAh'],
  'charge-capacity': ['Ah', 'mAh'],
  energy: ['Wh', 'mWh'],
  'charge-energy': ['Wh', 'mWh'],
  ocv: ['V', 'mV'],
  mass: ['g', 'kg'],
  thickness: ['mm'],
  'coulombic-efficiency': ['1', '%'],
  'energy-efficiency': ['1', '%'],
};

/** Share of the values that a unit must make possible; a dirty value must not decide about a column. */
const SHARE = 0.9;

/**
 * The only unit in which a column's numbers are values of a lithium cell; null where none or several are possible, so that
 * 17 is never taken for ohm, and 0.5 is asked about. Rates of self-discharge have no such limits and must state a unit.
 *
 * @param numbers of the column as the file writes them
 * @param capacityAh typical capacity of the cells, where the table states it; it tells Ω from mΩ more sharply
 */
export function unitByValues(
  quantity: QuantityName,
  numbers: readonly number[],
  capacityAh: number | null,
): Unit | null {
  const resistive = unitOfTableQuantity(quantity) === 'resistance';
  const range = possibleRange(quantity, capacityAh);
  if (range === undefined || numbers.length === 0) return null;
  const fits = (resistive ? ['ohm', 'mohm'] : (candidates[quantity] ?? [])).flatMap((symbol) => {
    const unit = parseUnit(symbol) as Unit;
    const inside = numbers.filter((number) => {
      const value = (number * unit.multiply) / unit.divide;
      return value >= range[0] && value <= range[1];
    });
    return inside.length >= SHARE * numbers.length ? [unit] : [];
  });
  return fits.length === 1 ? fits[0] : null;
}

function possibleRange(
  quantity: QuantityName,
  capacityAh: number | null,
): readonly [number, number] | undefined {
  if (unitOfTableQuantity(quantity) !== 'resistance') return possible[quantity];
  if (capacityAh === null) return possibleResistanceOhm;
  return [
    Math.max(possibleResistanceOhm[0], possibleProductOhmAh[0] / capacityAh),
    Math.min(possibleResistanceOhm[1], possibleProductOhmAh[1] / capacityAh),
  ];
}

/** Multiple of the largest possible value from which on a stated unit is contradicted by its values. */
const FAR_BEYOND = 2.5;

/**
 * Whether values, in the unit we keep, are thousandths of the unit that their column states: nearly all of them lie far beyond
 * any lithium cell's, and their thousandth does not.
 */
export function areThousandths(quantity: QuantityName, values: readonly number[]): boolean {
  const range = possibleRange(quantity, null);
  if (range === undefined || values.length === 0) return false;
  const [low, high] = range;
  const beyond = values.filter(
    (value) => value > FAR_BEYOND * high && value / 1000 >= low && value / 1000 <= high,
  );
  return beyond.length >= SHARE * values.length;
}
