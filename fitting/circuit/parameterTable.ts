/**
 * A parameter over SOC and temperature. `values[i][j]` belongs to `soc[i]` and `temperatureC[j]`; null where
 * not measured.
 */
export interface ParameterTable {
  /** Increasing. */
  readonly soc: readonly number[];
  /** Increasing. */
  readonly temperatureC: readonly number[];
  readonly values: readonly (readonly (number | null)[])[];
}

/** A value read from a table. */
export interface TableValue {
  readonly value: number | null;
  /** `outside-…`: held at the edge of the measured region; `hole`: a corner was not measured. */
  readonly flag: 'inside' | 'outside-soc' | 'outside-temperature' | 'outside-both' | 'hole';
}

/**
 * Bilinear interpolation in a table. Outside the measured region the nearest edge is held and flagged,
 * nothing is extrapolated.
 *
 * @throws RangeError for axes that do not increase or rows that do not fit them
 */
export function interpolateTable(table: ParameterTable, soc: number, temperatureC: number): TableValue {
  checkTable(table);
  const z = place(table.soc, soc);
  const t = place(table.temperatureC, temperatureC);
  const corner = (i: number, j: number): number | null => table.values[i][j];
  let value = 0;
  for (const [i, wz] of [
    [z.low, 1 - z.share],
    [z.high, z.share],
  ]) {
    for (const [j, wt] of [
      [t.low, 1 - t.share],
      [t.high, t.share],
    ]) {
      const weight = wz * wt;
      if (weight === 0) continue;
      const here = corner(i, j);
      if (here === null) return { value: null, flag: 'hole' };
      value += weight * here;
    }
  }
  const flag = z.outside
    ? t.outside
      ? 'outside-both'
      : 'outside-soc'
    : t.outside
      ? 'outside-temperature'
      : 'inside';
  return { value, flag };
}

function checkTable(table: ParameterTable): void {
  for (const [name, axis] of [
    ['soc', table.soc],
    ['temperatureC', table.temperatureC],
  ] as const) {
    if (axis.length === 0) throw new RangeError(`${name} has no entries`);
    axis.forEach((value, i) => {
      if (i > 0 && !(value > axis[i - 1])) throw new RangeError(`${name}[${i}] = ${value} does not increase`);
    });
  }
  const fits = table.values.length === table.soc.length;
  if (!fits || table.values.some((row) => row.length !== table.temperatureC.length)) {
    throw new RangeError('values needs one row for each SOC and one column for each temperature');
  }
}

interface Place {
  readonly low: number;
  readonly high: number;
  readonly share: number;
  readonly outside: boolean;
}

function place(axis: readonly number[], at: number): Place {
  const last = axis.length - 1;
  if (at <= axis[0]) return { low: 0, high: 0, share: 0, outside: at < axis[0] };
  if (at >= axis[last]) return { low: last, high: last, share: 0, outside: at > axis[last] };
  let low = 0;
  while (axis[low + 1] <= at) low++;
  return { low, high: low + 1, share: (at - axis[low]) / (axis[low + 1] - axis[low]), outside: false };
}

/** A parameter measured at scattered conditions. */
export interface ScatteredValue {
  readonly soc: number;
  readonly temperatureC: number;
  readonly value: number;
}

/** Temperatures within this count as one, in °C: what a chamber and a sensor leave open; common practice. */
export const SAME_TEMPERATURE_C = 2.5;

/**
 * Arranges scattered values into a table: SOCs within `socStep` and temperatures within `temperatureStepC` of
 * a group's mean fall together; several values in one place are averaged.
 */
export function tabulate(
  values: readonly ScatteredValue[],
  socStep = 0.02,
  temperatureStepC = SAME_TEMPERATURE_C,
): ParameterTable {
  const soc = groups(
    values.map((one) => one.soc),
    socStep,
  );
  const temperatureC = groups(
    values.map((one) => one.temperatureC),
    temperatureStepC,
  );
  const nearest = (axis: readonly number[], at: number): number =>
    axis.reduce((best, value, i) => (Math.abs(value - at) < Math.abs(axis[best] - at) ? i : best), 0);
  const cells = soc.map(() => temperatureC.map(() => ({ sum: 0, count: 0 })));
  for (const one of values) {
    const cell = cells[nearest(soc, one.soc)][nearest(temperatureC, one.temperatureC)];
    cell.sum += one.value;
    cell.count++;
  }
  return {
    soc,
    temperatureC,
    values: cells.map((row) => row.map((cell) => (cell.count > 0 ? cell.sum / cell.count : null))),
  };
}

function groups(values: readonly number[], step: number): number[] {
  const sorted = [...values].sort((a, b) => a - b);
  const found: { sum: number; count: number }[] = [];
  for (const value of sorted) {
    const last = found[found.length - 1];
    if (last && value - last.sum / last.count <= step) {
      last.sum += value;
      last.count++;
    } else found.push({ sum: value, count: 1 });
  }
  return found.map((group) => group.sum / group.count);
}
