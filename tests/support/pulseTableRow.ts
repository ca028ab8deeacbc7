/** Readings of one pulse in a table: no samples, only rest, first reading and end. */
export interface TabledPulse {
  readonly restVoltageV: number;
  readonly startVoltageV: number;
  readonly endVoltageV: number;
  /** Signed, positive on charge. */
  readonly currentA: number;
}

/**
 * Resistances of a tabled pulse at its first reading and at its end, in Ohm; null where the voltage moved
 * against the current.
 *
 * @throws RangeError for a current of 0
 */
export function tabledResistances(pulse: TabledPulse): { first: number | null; end: number | null } {
  if (pulse.currentA === 0) throw new RangeError('The current of a pulse is 0 A');
  const resistance = (voltageV: number): number | null => {
    const ohm = (voltageV - pulse.restVoltageV) / pulse.currentA;
    return ohm > 0 ? ohm : null;
  };
  return { first: resistance(pulse.startVoltageV), end: resistance(pulse.endVoltageV) };
}
