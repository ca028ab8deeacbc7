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

const fixedUnits: Readonly<Record<string, DisplayUnit>> = {
  V: { symbol: 'V', factor: 1 },
  A: { symbol: 'A', factor: 1 },
  s: { symbol: 's', factor: 1 },
  Wh: { symbol: 'Wh', factor: 1 },
  W: { symbol: 'W', factor: 1 },
  degC: { symbol: '°C', factor: 1 },
  fraction: { symbol: '%', factor: 100 },
  'V/day': { symbol: 'mV/day', factor: 1000 },
  'V/d': { symbol: 'mV/day', factor: 1000 },
  kg: { symbol: 'g', factor: 1000 },
  mV: { symbol: 'mV', factor: 1 },
  g: { symbol: 'g', factor: 1 },
  F: { symbol: 'F', factor: 1 },
  '1': { symbol: '', factor: 1 },
};

/**
 * The unit in which a stored value of `unit` is shown under the user's choice. A unit that is not known is shown as it
 * is stored, because a wrong symbol would be worse than a plain one.
 */
export function displayUnit(unit: string, choice: UnitChoice): DisplayUnit {
  if (unit === 'Ohm' || unit === 'ohm') {
    return choice.resistance === 'mΩ' ? { symbol: 'mΩ', factor: 1000 } : { symbol: 'Ω', factor: 1 };
  }
  if (unit === 'Ah') {
    return choice.capacity === 'mAh' ? { symbol: 'mAh', factor: 1000 } : { symbol: 'Ah', factor: 1 };
  }
  return fixedUnits[unit] ?? { symbol: unit, factor: 1 };
}
