import { say } from '../words/i18n.ts';
/** Which units the pages show. Stored data never change: only what is drawn and written does. */
export interface UnitChoice {
  readonly resistance: 'mΩ' | 'Ω';
  readonly capacity: 'Ah' | 'mAh';
}

export const defaultUnits: UnitChoice = { resistance: 'mΩ', capacity: 'Ah' };

/** A unit on the screen: `shown = stored × factor`. */
export interface DisplayUnit {
  readonly symbol: string;
  readonly factor: number;
}

/** Units are stored as codes of the Unified Code for Units of Measure (case-sensitive), or as plain symbols. */
const fixedUnits: Readonly<Record<string, DisplayUnit>> = {
  V: { symbol: 'V', factor: 1 },
  mV: { symbol: 'mV', factor: 1 },
  A: { symbol: 'A', factor: 1 },
  s: { symbol: 's', factor: 1 },
  h: { symbol: 'h', factor: 1 },
  d: { symbol: 'd', factor: 1 },
  W: { symbol: 'W', factor: 1 },
  Wh: { symbol: 'Wh', factor: 1 },
  'W.h': { symbol: 'Wh', factor: 1 },
  Cel: { symbol: '°C', factor: 1 },
  degC: { symbol: '°C', factor: 1 },
  fraction: { symbol: '%', factor: 100 },
  'V/d': { symbol: 'mV/d', factor: 1000 },
  'V/day': { symbol: 'mV/d', factor: 1000 },
  'mV/d': { symbol: 'mV/d', factor: 1 },
  g: { symbol: 'g', factor: 1 },
  kg: { symbol: 'g', factor: 1000 },
  F: { symbol: 'F', factor: 1 },
  '1': { symbol: '', factor: 1 },
  H: { symbol: 'nH', factor: 1e9 },
  'Ohm.s-0.5': { symbol: 'mΩ/√s', factor: 1000 },
};

const ohms: Readonly<Record<string, number>> = { Ohm: 1, ohm: 1, Ω: 1, mOhm: 1e-3, mΩ: 1e-3 };
const ampereHours: Readonly<Record<string, number>> = { Ah: 1, 'A.h': 1, mAh: 1e-3, 'mA.h': 1e-3 };
const perCycle = /\/(cycle|\{cycle\})$/;

/**
 * The unit in which a stored value of `unit` is shown under the user's choice. A unit that is not known is shown as it
 * is stored, because a wrong symbol would be worse than a plain one.
 */
export function displayUnit(unit: string, choice: UnitChoice): DisplayUnit {
  if (perCycle.test(unit)) {
    const base = displayUnit(unit.replace(perCycle, ''), choice);
    return { symbol: say('general.symbolCycle', { symbol: base.symbol }), factor: base.factor };
  }
  if (unit in ohms) {
    const scale = choice.resistance === 'mΩ' ? 1000 : 1;
    return { symbol: choice.resistance, factor: ohms[unit] * scale };
  }
  if (unit in ampereHours) {
    const scale = choice.capacity === 'mAh' ? 1000 : 1;
    return { symbol: choice.capacity, factor: ampereHours[unit] * scale };
  }
  return fixedUnits[unit] ?? { symbol: unit, factor: 1 };
}
