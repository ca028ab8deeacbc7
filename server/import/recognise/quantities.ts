import type { QuantityName } from '../../contract/measurements.ts';
import type { NamedColumn } from '../proposeColumns.ts';
import type { Quantity } from '../units.ts';
import { directionIn, durationIn } from './duration.ts';

/** What a header's name says that its column holds: a quantity, and the condition that the name states. */
export interface RecognisedQuantity {
  readonly quantity: QuantityName;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
}

interface QuantityRule {
  readonly quantity: QuantityName;
  /** What the unit is of. A column with a unit of something else is not this quantity. */
  readonly unitOf: Quantity;
  /** Names, as {@link plainName} writes them. */
  readonly name: RegExp;
  readonly not?: RegExp;
  /** Whether duration and direction in the name are part of the condition. */
  readonly conditioned?: boolean;
}

/** Words that say that a column holds a limit, a setting or a mark instead of what was measured on the cell. */
const notMeasured =
  /\b(nominal|rated|initial|index|count|date|limit|spec|specification|target|set|setpoint|threshold|grade|class|tolerance|deviation|delta|diff|difference|result|ok|pass|imag|imaginary|phase|throughput|cumulative|retention)\b/;
/** Words for a standard uncertainty; such a column belongs to the one of the same name without them. */
const uncertaintyWords =
  /\b(standard )?(uncertainty|sd|std|sigma|stderr|standard deviation)\b|(?<=\w )u$|^u (?!ocv|oc$|0)/;

const otherFrequency = /\b(?!1khz|1000hz|1 khz)\d+(?:p\d+)? ?k?hz\b/;

/**
 * The one table of quantities: the first rule whose name and unit fit decides. Every table of results is read by it
 * (cells, pulses, cycles, steps, pairing), so that a header means the same wherever it stands.
 */
const rules: readonly QuantityRule[] = [
  {
    quantity: 'drift',
    unitOf: 'voltage-rate',
    name: /\b(self discharge|drift|k value|voltage loss|voltage drop|ocv drop|ocv loss)\b|^k$|^delta ocv$/,
  },
  {
    quantity: 'coulombic-efficiency',
    unitOf: 'fraction',
    name: /\b(coulombic|coulomb|charge|ah) efficiency\b|^ce$/,
  },
  { quantity: 'energy-efficiency', unitOf: 'fraction', name: /\b(energy|wh) efficiency\b|^ee$/ },
  {
    quantity: 'charge-capacity',
    unitOf: 'charge',
    name: /\b(charge|chg|ch) (capacity|cap|amount)\b|\b(capacity|cap) (charge|chg)\b|^(charge|chg)$/,
    not: /\b(discharge|dis|dch|dchg)\b/,
  },
  {
    quantity: 'capacity',
    unitOf: 'charge',
    name: /\b(capacity|cap)\b|^q$|^q (dis|dch|discharge)$|^(discharge|dchg|dch)( amount)?$/,
  },
  {
    quantity: 'charge-energy',
    unitOf: 'energy',
    name: /\b(charge|chg|ch)\b.*\benergy\b|\benergy\b.*\b(charge|chg)\b/,
    not: /\b(discharge|dis|dch|dchg)\b/,
  },
  { quantity: 'energy', unitOf: 'energy', name: /\benergy\b/ },
  { quantity: 'mass', unitOf: 'mass', name: /\bmass\b|^m$/ },
  { quantity: 'thickness', unitOf: 'length', name: /\bthickness\b|^thick$/ },
  { quantity: 'charge-time', unitOf: 'time', name: /\bcharge (time|duration)\b/, not: /\bdischarge\b/ },
  { quantity: 'temperature-max', unitOf: 'temperature', name: /\bmax(imum)?\b/ },
  { quantity: 'ocv', unitOf: 'voltage', name: /\b(ocv|vocv|uocv|voc|uoc)\b|^(rest )?voltage$|^v0$|^u0$/ },
  {
    quantity: 'impedance-1khz',
    unitOf: 'resistance',
    name: /\b1 ?khz\b|\b1000 ?hz\b|\b(acir|acr|rac|aci|impedance)\b|\bac (ir|internal|resistance|r|ri)\b|^ac$/,
    not: otherFrequency,
  },
  { quantity: 'r0', unitOf: 'resistance', name: /^(r0|re|ohmic resistance|rohm)$/ },
  { quantity: 'r1', unitOf: 'resistance', name: /^(r1|rct)$/ },
  { quantity: 'r2', unitOf: 'resistance', name: /^r2$/ },
  { quantity: 'r3', unitOf: 'resistance', name: /^r3$/ },
  {
    quantity: 'resistance',
    unitOf: 'resistance',
    name: /\b(resistance|dcir|dcr|rdc|ir|ri|r)\b|\br ?\d+ ?m?s\b/,
    not: otherFrequency,
    conditioned: true,
  },
];

/** What may stand beside the name of a quantity in a header that states no unit; any other word leaves it unrecognised. */
const harmless =
  /\b(measured|cell|internal|dc|ac|pulse|mean|average|avg|value|at|after|rest|rate|discharge|discharging|dis|dch|dchg|charge|charging|chg|ch|soc\d*|\d+p?\d* ?(?:ms|s|sec|min|h|khz|hz|%|c|degc|deg c|soc)?|soc|resistance|ir|ri|r|acir|dcir|impedance|capacity|cap|energy|ocv|voltage|cycle|new|initial|fresh)\b/g;

/** Units of these columns say by themselves what they hold. */
const byUnitAlone: Partial<Record<Quantity, QuantityName>> = {
  mass: 'mass',
  'voltage-rate': 'drift',
  resistance: 'resistance',
};

/** What a column's unit must be of for each quantity; quantities without an entry are never read from a table. */
export function unitOfTableQuantity(quantity: QuantityName): Quantity | null {
  if (quantity === 'rdc') return 'resistance';
  return rules.find((rule) => rule.quantity === quantity)?.unitOf ?? null;
}

/** Quantities that a column of a table can be chosen to be. */
export const tableQuantities: readonly QuantityName[] = [
  ...new Set(rules.map(({ quantity }) => quantity)),
  'rdc',
];

/** Quantities that belong to the state of charge a row states; the others belong to the cell as a whole. */
export const atStateOfCharge: ReadonlySet<QuantityName> = new Set([
  'ocv',
  'impedance-1khz',
  'resistance',
  'rdc',
  'r0',
  'r1',
  'r2',
  'r3',
]);

/** Whether a column holds the uncertainty of another. */
export function isUncertainty(name: string): boolean {
  return uncertaintyWords.test(name);
}

/** The column whose uncertainty `column` is, by its name without the word for uncertainty; null for none. */
export function uncertaintyBeside(columns: readonly NamedColumn[], column: NamedColumn): NamedColumn | null {
  const plain = (name: string): string => name.replace(uncertaintyWords, '').replace(/\s+/g, ' ').trim();
  return columns.find((other) => isUncertainty(other.name) && plain(other.name) === column.name) ?? null;
}

/**
 * What a column holds by its name and the unit it states.
 *
 * @returns null for a column that is not a measured quantity of a cell
 */
export function recogniseQuantity({ name, unit }: NamedColumn): RecognisedQuantity | null {
  if (isUncertainty(name) || notMeasured.test(name)) return null;
  if (unit?.quantity === 'voltage-rate') return { quantity: 'drift', durationS: null, direction: null };
  const rule = rules.find(
    (one) =>
      (unit === null || unit.quantity === one.unitOf) &&
      one.name.test(name) &&
      !(one.not?.test(name) ?? false) &&
      !(one.quantity === 'temperature-max' && unit === null),
  );
  if (rule !== undefined && unit === null && name.replace(rule.name, '').replace(harmless, '').trim() !== '')
    return null;
  if (rule !== undefined) return conditionOf(rule.quantity, name, rule.conditioned === true);
  const alone = unit === null ? undefined : byUnitAlone[unit.quantity];
  if (alone === undefined || otherFrequency.test(name)) return null;
  return conditionOf(alone, name, alone === 'resistance');
}

/** A resistance "by the two-level method" is named Rdc; with a duration it is that of a pulse. */
function conditionOf(quantity: QuantityName, name: string, conditioned: boolean): RecognisedQuantity {
  const durationS = conditioned ? durationIn(name) : null;
  if (quantity === 'resistance' && durationS === null && /\brdc\b/.test(name))
    return { quantity: 'rdc', durationS: null, direction: null };
  return { quantity, durationS, direction: conditioned ? directionIn(name) : null };
}

/** Header names of an instrument's signed charge counter in a record. */
export function namesChargeCounter(header: string): boolean {
  return /^charge[ _([]*ah[)\]]?$/i.test(header.trim());
}

/** `capacity`, `self-discharge` or `resistance/10s/discharge` as a quantity with its condition; null for other roles. */
export function quantityOfRole(role: string): RecognisedQuantity | null {
  const [name, ...conditions] = role.split('/');
  const quantity = (name === 'self-discharge' ? 'drift' : name) as QuantityName;
  if (!tableQuantities.includes(quantity)) return null;
  const text = conditions.join(' ');
  return { quantity, durationS: durationIn(text), direction: directionIn(text) };
}
