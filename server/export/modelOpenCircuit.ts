import type { CellParameters, CircuitTable } from '../contract/parameterSet.ts';
import { type Column, interpolate } from './modelColumn.ts';
import { need, requirePositive } from './needed.ts';
import { ExportRefused } from './refusal.ts';

/** A cell's open-circuit voltage over SOC: its curve, else the fits of the pulses. @throws ExportRefused naming what is missing */
export function openCircuitColumn(
  cell: CellParameters,
  tables: readonly CircuitTable[],
  name: string,
): Column {
  const curve = cell.openCircuit;
  const rows =
    curve !== null
      ? curve.rows.map((row) => ({ soc: row.soc, value: row.ocv }))
      : tables[0].rows.map((row) => ({ soc: row.soc, value: row.ocv }));
  if (rows.length < 2)
    throw new ExportRefused(
      'no-open-circuit',
      `${name}: open-circuit voltage`,
      `${rows.length} state of charge`,
      'at least two are needed; evaluate a test with rests at several SOC or a slow discharge',
    );
  rows.forEach((row, i) => {
    if (i > 0 && row.soc <= rows[i - 1].soc)
      throw new ExportRefused(
        'soc-not-ascending',
        `${name}: open-circuit voltage`,
        `SOC ${row.soc}`,
        'the SOC must ascend',
      );
  });
  const values = rows.map((row) => {
    const value = need(row.value, `${name}: open-circuit voltage at SOC ${row.soc}`, 'no-open-circuit');
    requirePositive(value, `${name}: open-circuit voltage at SOC ${row.soc}`);
    return value;
  });
  return { soc: rows.map((row) => row.soc), values };
}

/** States of charge this close to the end of the curve count as its end. */
export const NEAR_END = 0.02;

/** The curve goes on to full with its last slope, but no further up than the charge voltage limit. */
export function boundedAbove(column: Column, maxVoltageV: number): Column {
  const last = column.soc[column.soc.length - 1];
  if (last >= 1 - NEAR_END) return column;
  const full = Math.min(interpolate(column, 1, 'extend'), maxVoltageV);
  return { soc: [...column.soc, 1], values: [...column.values, full] };
}
