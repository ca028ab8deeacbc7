import type { QuantityName } from '../../contract/measurements.ts';

/** A value as it is judged, in the unit we keep. */
export interface JudgedValue {
  readonly quantity: QuantityName;
  readonly value: number | null;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
}

/** What the cell type says of its cells; a lot without a type has only its own values to go by. */
export interface PlausibleType {
  readonly ratedCapacityAh: number;
  readonly chargeVoltageLimitV: number;
  readonly voltageMinV: number;
  readonly voltageMaxV: number;
}

/** No single cell holds more, in Ah. Common practice, no source: the largest in trade are below. */
const LARGEST_CELL_AH = 2000;
/** A capacity above this multiple of the rated one, or of the lot's median, looks like another unit. */
const OTHER_UNIT_FACTOR = 5;
/** A cell gives hardly more than its rated capacity; beyond this many times it is another cell or an error. Common practice. */
const CAPACITY_FACTOR = 1.2;
/** A value this many times the lot's median, or this small a part of it, is an error of the instrument. Common practice. */
const LOT_FACTOR = 10;
/** A capacity this many times the lot's median is one. Ageing makes capacities smaller, never larger. */
const LOT_CAPACITY_FACTOR = 1.3;
/** Fewer values do not say what is usual in a lot. */
const LEAST_VALUES = 5;

const unitQuestion = '; is the column in mA.h?';

const capacities: readonly QuantityName[] = ['capacity', 'charge-capacity'];
const energies: readonly QuantityName[] = ['energy', 'charge-energy'];
const resistances: readonly QuantityName[] = ['resistance', 'rdc', 'impedance-1khz', 'r0', 'r1', 'r2', 'r3'];
const positive: readonly QuantityName[] = [
  ...capacities,
  ...energies,
  ...resistances,
  'ocv',
  'mass',
  'thickness',
  'charge-time',
  'coulombic-efficiency',
  'energy-efficiency',
];
/** Quantities that vary by less than the factor among sound cells of a lot and through their life. */
const comparable: readonly QuantityName[] = [
  ...capacities,
  ...resistances,
  'charge-time',
  'mass',
  'thickness',
];

/**
 * Why values cannot be, each by itself against the limits of the cell type and of its lot; null for a value that can.
 * A value with a reason is kept and shown, and counts nowhere until a person lifts the mark. One rule for imports, ageing
 * and pairing.
 *
 * @param lot further values of the same lot, which say what is usual in it
 */
export function implausibleReasons(
  values: readonly JudgedValue[],
  type: PlausibleType | null,
  lot: readonly JudgedValue[] = [],
): (string | null)[] {
  const medians = lotMedians([...values, ...lot]);
  return values.map((one) => {
    const { quantity, value } = one;
    if (value === null) return null;
    if (positive.includes(quantity) && !(value > 0)) return 'not-positive';
    if (capacities.includes(quantity) && value > LARGEST_CELL_AH)
      return `implausible: above ${LARGEST_CELL_AH} A.h, which no cell holds${unitQuestion}`;
    return byType(quantity, value, type) ?? byLot(quantity, value, medians.get(keyOf(one)) ?? null);
  });
}

function byType(quantity: QuantityName, value: number, type: PlausibleType | null): string | null {
  if (type === null) return null;
  const { ratedCapacityAh, chargeVoltageLimitV } = type;
  const above = (limit: number, unit: string, what: string): string | null =>
    value > limit ? `implausible: above ${shown(limit)} ${unit}, ${what}` : null;
  if (capacities.includes(quantity))
    return above(
      CAPACITY_FACTOR * ratedCapacityAh,
      'A.h',
      `${CAPACITY_FACTOR} times the rated capacity${value > OTHER_UNIT_FACTOR * ratedCapacityAh ? unitQuestion : ''}`,
    );
  if (energies.includes(quantity))
    return above(
      CAPACITY_FACTOR * ratedCapacityAh * chargeVoltageLimitV,
      'W.h',
      `${CAPACITY_FACTOR} times the rated capacity at the charge voltage limit`,
    );
  // Ohm's law: at one times the rated capacity per hour the whole voltage of the cell would drop over it.
  if (resistances.includes(quantity))
    return above(chargeVoltageLimitV / ratedCapacityAh, 'Ohm', 'which would take the whole voltage at 1 C');
  if (quantity === 'ocv' && (value < type.voltageMinV || value > type.voltageMaxV))
    return `implausible: outside ${type.voltageMinV} to ${type.voltageMaxV} V, the limits of the chemistry`;
  return null;
}

function byLot(quantity: QuantityName, value: number, median: number | null): string | null {
  if (median === null || !(median > 0)) return null;
  const most = capacities.includes(quantity) ? LOT_CAPACITY_FACTOR : LOT_FACTOR;
  if (!comparable.includes(quantity)) return null;
  if (value > most * median)
    return `implausible: more than ${most} times the lot's median of ${shown(median)}`;
  return value < median / LOT_FACTOR
    ? `implausible: less than a tenth of the lot's median of ${shown(median)}`
    : null;
}

/** Medians by quantity and condition, where enough values say what is usual. */
function lotMedians(values: readonly JudgedValue[]): Map<string, number> {
  const groups = new Map<string, number[]>();
  for (const one of values) {
    if (one.value === null || !(one.value > 0)) continue;
    const key = keyOf(one);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [one.value]);
    else group.push(one.value);
  }
  const medians = new Map<string, number>();
  for (const [key, group] of groups) {
    if (group.length < LEAST_VALUES) continue;
    group.sort((a, b) => a - b);
    medians.set(key, group[group.length >> 1]);
  }
  return medians;
}

function keyOf({ quantity, durationS, direction }: JudgedValue): string {
  return `${quantity} ${durationS} ${direction}`;
}

function shown(value: number): string {
  return String(Number(value.toPrecision(3)));
}
