import { storedSetting, useStored } from './stored.ts';
import { defaultUnits, type UnitChoice } from './units.ts';

const unitSetting = storedSetting<UnitChoice>('gemel-units', (stored) => {
  if (typeof stored !== 'object' || stored === null) return defaultUnits;
  const { resistance, capacity } = stored as Partial<UnitChoice>;
  return {
    resistance: resistance === 'Ω' ? 'Ω' : 'mΩ',
    capacity: capacity === 'mAh' ? 'mAh' : 'Ah',
  };
});

/** The units in which this reader wants to see resistances and capacities. */
export function useUnits(): [UnitChoice, (choice: UnitChoice) => void] {
  return useStored(unitSetting);
}
