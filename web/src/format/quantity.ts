import { type DisplayUnit, displayUnit, type UnitChoice } from '../settings/units.ts';
import { significant, withUncertainty } from './number.ts';

/** What stands where a number is missing. */
export const missing = '–';

/** A stored value in the units of the user's choice, with its unit: `27.83 mΩ`. */
export function quantity(
  value: number | null | undefined,
  unit: string,
  choice: UnitChoice,
  digits = 4,
): string {
  const shown = bareQuantity(value, unit, choice, digits);
  return shown === missing ? missing : joined(shown, displayUnit(unit, choice));
}

/** The same without the unit, for a table whose head names it. */
export function bareQuantity(
  value: number | null | undefined,
  unit: string,
  choice: UnitChoice,
  digits = 4,
): string {
  if (value === null || value === undefined) return missing;
  return significant(value * displayUnit(unit, choice).factor, digits);
}

/** `27.83 ± 0.12 mΩ`, or without the uncertainty where there is none. */
export function quantityWithUncertainty(
  value: number | null | undefined,
  standardUncertainty: number | null | undefined,
  unit: string,
  choice: UnitChoice,
): string {
  if (value === null || value === undefined) return missing;
  const shown = displayUnit(unit, choice);
  const text =
    standardUncertainty === null || standardUncertainty === undefined
      ? significant(value * shown.factor)
      : withUncertainty(value * shown.factor, standardUncertainty * shown.factor);
  return joined(text, shown);
}

/** `Capacity, Ah`: the name of an axis or a column with the unit it is shown in. */
export function labelled(name: string, unit: string, choice: UnitChoice): string {
  const { symbol } = displayUnit(unit, choice);
  return symbol === '' ? name : `${name}, ${symbol}`;
}

function joined(text: string, unit: DisplayUnit): string {
  return unit.symbol === '' ? text : `${text} ${unit.symbol}`;
}
