import type { NamedColumn } from '../proposeColumns.ts';
import type { Unit } from '../units.ts';
import { directionIn, durationIn } from './duration.ts';

/** A voltage some time after the beginning of a row's pulse. */
export interface PulseVoltage {
  readonly column: NamedColumn;
  readonly durationS: number;
  readonly direction: 'charge' | 'discharge' | null;
  readonly unit: Unit;
}

/** Columns of a table with one row per pulse: its current, what states its direction, and its voltages; -1 for none. */
export interface PulseColumns {
  readonly currentAt: number;
  readonly currentUnit: Unit | null;
  readonly directionAt: number;
  readonly before: { readonly column: NamedColumn; readonly unit: Unit } | null;
  readonly voltages: readonly PulseVoltage[];
}

/** A table whose rows are no pulses. */
export const noPulses: PulseColumns = {
  currentAt: -1,
  currentUnit: null,
  directionAt: -1,
  before: null,
  voltages: [],
};

const currentName = /^(pulse |test |mean |set |charge |discharge )?(current|i)( pulse| set| mean)?$/;
const directionName = /^(pulse |current )?(direction|dir|mode|type|state|sense)( of pulse)?$|^pulse$/;
const beforeName =
  /^(u0|v0|ocv|voc|uoc|rest voltage|(voltage|u|v) (before|start|initial|rest)( pulse)?|(start|initial|before) (voltage|u|v))$/;
const afterName = /^(end |pulse )?(voltage|u|v)\b/;

/**
 * The columns of a table with one row per cell and pulse. Voltages at times after the beginning of the pulse count where the
 * table has a voltage before it and a current with its unit.
 *
 * @param statesDirections whether every word of a column means charge or discharge
 */
export function pulseColumns(
  columns: readonly NamedColumn[],
  statesDirections: (index: number) => boolean,
): PulseColumns {
  const current = columns.find(({ name, unit }) => unit?.quantity === 'current' && currentName.test(name));
  const direction = columns.find(
    ({ name, unit, index }) => unit === null && directionName.test(name) && statesDirections(index),
  );
  const before = columns.find(({ name, unit }) => unit?.quantity === 'voltage' && beforeName.test(name));
  const voltages = columns.flatMap((column): PulseVoltage[] => {
    const { name, unit } = column;
    const durationS = durationIn(name);
    return unit?.quantity === 'voltage' && afterName.test(name) && durationS !== null && durationS > 0
      ? [{ column, durationS, direction: directionIn(name), unit }]
      : [];
  });
  const whole = current !== undefined && before !== undefined && before.unit !== null;
  return {
    currentAt: current?.index ?? -1,
    currentUnit: current?.unit ?? null,
    directionAt: direction?.index ?? -1,
    before: whole && voltages.length > 0 ? { column: before, unit: before.unit as Unit } : null,
    voltages: whole ? voltages : [],
  };
}
