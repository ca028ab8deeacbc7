import type { Context } from '../../context.ts';
import type { ParameterSet } from '../../contract/parameterSet.ts';
import { ucumCode } from '../../export/ucum.ts';
import { columnValues, listColumns, readColumnKey } from '../../store/measurements.ts';

/** Spread of every comparable column over the cells of some lots, by the column's key. */
export async function readSpread(
  context: Context,
  lotIds: readonly number[],
): Promise<ParameterSet['spread']> {
  const byKey = new Map<string, { unit: string; values: number[] }>();
  for (const lotId of lotIds) {
    for (const column of await listColumns(context.store, lotId)) {
      const key = readColumnKey(column.key);
      if (key === null) throw new Error(`The column key ${column.key} cannot be read back.`);
      const entry = byKey.get(column.key) ?? { unit: column.unit, values: [] };
      for (const { value } of (await columnValues(context.store, lotId, key)).values())
        if (value !== null) entry.values.push(value);
      byKey.set(column.key, entry);
    }
  }
  return [...byKey.entries()]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([key, { unit, values }]) => spreadOf(key, unit, values));
}

function spreadOf(key: string, unit: string, values: readonly number[]): ParameterSet['spread'][number] {
  const n = values.length;
  const mean = n === 0 ? null : values.reduce((sum, value) => sum + value, 0) / n;
  const squares = mean === null ? 0 : values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return {
    key,
    unit: ucumCode(unit),
    n,
    mean,
    standardDeviation: n < 2 ? null : Math.sqrt(squares / (n - 1)),
    minimum: n === 0 ? null : values.reduce((a, b) => Math.min(a, b)),
    maximum: n === 0 ? null : values.reduce((a, b) => Math.max(a, b)),
  };
}
