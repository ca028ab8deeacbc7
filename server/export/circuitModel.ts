import { SAME_TEMPERATURE_C } from '../../fitting/circuit/parameterTable.ts';
import type { ChargeCellDescription } from '../contract/chargeStudy.ts';
import type {
  CellParameters,
  CellTypeParameters,
  CircuitTable,
  ParameterValue,
} from '../contract/parameterSet.ts';
import { type PlainRow, padBranches } from './padBranches.ts';
import { ExportRefused } from './refusal.ts';

/** Which of a cell's tables are taken where it has several, and where the simulated cell starts. */
export interface CircuitChoice {
  /** Default: `charge` where the cell has a table of charge pulses, else `discharge`. */
  readonly direction?: 'charge' | 'discharge';
  readonly startSoc?: number;
}

/** One quantity at one temperature over ascending SOC. */
interface Column {
  readonly soc: readonly number[];
  readonly values: readonly number[];
}

/** A cell's circuit model with what a reader of the file must be told about how it was put together. */
export interface CircuitModel {
  readonly cell: ChargeCellDescription;
  readonly direction: 'charge' | 'discharge';
  readonly notes: readonly string[];
}

/**
 * A cell's circuit model as the study of a charge describes it, made from its fitted tables: the same document drives
 * the simulation, the circuit simulator's model and the firmware's tables, so that the three cannot differ.
 *
 * Tables on different SOC grids are brought onto the union of the grids by straight lines, which changes nothing, since
 * a table is read by straight lines. Beyond a table's own ends its edge value is held; the open-circuit voltage goes on
 * with the slope of its last stretch.
 *
 * @throws ExportRefused naming what is missing or outside its physical range.
 */
export function circuitModelOf(
  cell: CellParameters,
  cellType: CellTypeParameters,
  choice: CircuitChoice = {},
): CircuitModel {
  const name = `cell "${cell.serial}"`;
  const direction = chosenDirection(cell, choice.direction);
  const chosen = chooseTables(cell, direction, name);
  for (const table of chosen) checkTable(table, name);
  const capacityAh = need(cell.capacity, `${name}: capacity`, 'no-capacity');
  requirePositive(capacityAh, `${name}: capacity`);
  const padded = padBranches(chosen);
  const ocv = openCircuitColumn(cell, chosen, name);
  const soc = unionOf([ocv.soc, ...chosen.map((table) => table.rows.map((row) => row.soc))]);
  const grid = (pick: (row: PlainRow) => number): number[] | number[][] => {
    const perTemperature = padded.tables.map((rows) => {
      const column = { soc: rows.map((row) => row.soc), values: rows.map(pick) };
      return soc.map((z) => interpolate(column, z, 'hold'));
    });
    return chosen.length === 1
      ? perTemperature[0]
      : soc.map((_, i) => perTemperature.map((values) => values[i]));
  };
  const thermal = thermalOf(cellType);
  const description: ChargeCellDescription = {
    name: cell.serial.slice(0, 120),
    chemistry: cellType.chemistry.slice(0, 60),
    capacityAh,
    ratedCapacityAh: need(
      cellType.ratedCapacity,
      `cell type "${cellType.name}": rated capacity`,
      'no-capacity',
    ),
    soc,
    ...(chosen.length > 1 ? { temperatureC: chosen.map((table) => table.temperatureC ?? 0) } : {}),
    ocvV: soc.map((z) => interpolate(ocv, z, 'extend')),
    ocvInterpolation: 'linear',
    r0Ohm: grid((row) => row.r0),
    branches: Array.from({ length: padded.branchCount }, (_, j) => ({
      rOhm: grid((row) => row.branches[j].r),
      tauS: grid((row) => row.branches[j].tau),
    })),
    ...(thermal === null ? {} : { thermal }),
    startSoc: choice.startSoc ?? Math.min(1, Math.max(0, soc[0])),
    datasheet: datasheetOf(cellType),
  };
  return { cell: description, direction, notes: notesOf(cell, direction, chosen, padded.paddedSoc) };
}

function notesOf(
  cell: CellParameters,
  direction: 'charge' | 'discharge',
  tables: readonly CircuitTable[],
  paddedSoc: readonly number[],
): string[] {
  const currentA = Math.max(0, ...tables.map((table) => table.validity.currentMaxA ?? 0));
  const size = currentA === 0 ? '' : ` of up to ${Number(currentA.toPrecision(3))} A`;
  const notes = [`resistances from ${direction} pulses${size}`];
  notes.push(
    cell.openCircuit === null
      ? 'open-circuit voltage from the fits of the pulses'
      : `open-circuit voltage from ${cell.openCircuit.source}`,
  );
  if (paddedSoc.length > 0)
    notes.push(
      `fewer branches were fitted at SOC ${paddedSoc.join(', ')}; the missing ones have resistance 0 there`,
    );
  return notes;
}

function datasheetOf(cellType: CellTypeParameters): ChargeCellDescription['datasheet'] {
  const where = `cell type "${cellType.name}"`;
  const { limits } = cellType;
  return {
    maxVoltageV: need(limits.chargeVoltage, `${where}: charge voltage`, 'number-missing'),
    maxChargeCurrentA: need(limits.chargeCurrent, `${where}: charge current`, 'number-missing'),
    ...optional('minChargeTemperatureC', limits.chargeTemperatureMin.value),
    ...optional('maxChargeTemperatureC', limits.chargeTemperatureMax.value),
    defaults: limits.commonPractice.length > 0,
  };
}

/** Direction of current of the tables that {@link circuitModelOf} takes. */
export function chosenDirection(
  cell: CellParameters,
  wanted?: 'charge' | 'discharge',
): 'charge' | 'discharge' {
  if (wanted !== undefined) return wanted;
  return cell.circuits.some((table) => table.direction === 'charge') ? 'charge' : 'discharge';
}

/** The tables of one direction ascending in temperature; of tables at one temperature the last counts. */
function chooseTables(cell: CellParameters, direction: 'charge' | 'discharge', name: string): CircuitTable[] {
  const ofDirection = cell.circuits.filter((table) => table.direction === direction).reverse();
  const known = ofDirection.filter((table) => table.temperatureC !== null);
  // A table without a temperature cannot stand beside others on a temperature axis.
  const tables: CircuitTable[] = known.length === 0 ? ofDirection.slice(0, 1) : [];
  for (const table of known) {
    const near = tables.some(
      (other) => Math.abs((other.temperatureC ?? 0) - (table.temperatureC ?? 0)) <= SAME_TEMPERATURE_C,
    );
    if (!near) tables.push(table);
  }
  tables.sort((a, b) => (a.temperatureC ?? 0) - (b.temperatureC ?? 0));
  if (tables.length === 0)
    throw new ExportRefused(
      'no-circuit-fit',
      `${name}: circuit model (${direction} pulses)`,
      null,
      'evaluate a pulse test of this cell first, with pulses at two or more states of charge',
    );
  return tables;
}

function checkTable(table: CircuitTable, name: string): void {
  const where = `${name}: circuit table${table.temperatureC === null ? '' : ` at ${table.temperatureC} °C`}`;
  if (table.rows.length < 2)
    throw new ExportRefused(
      'too-few-soc',
      where,
      `${table.rows.length} state of charge`,
      'a table over SOC needs at least two; one value would be used for the whole cell',
    );
  table.rows.forEach((row, i) => {
    if (!Number.isFinite(row.soc) || (i > 0 && row.soc <= table.rows[i - 1].soc))
      throw new ExportRefused(
        'soc-not-ascending',
        where,
        `SOC ${row.soc} in row ${i + 1}`,
        'the SOC of the rows must ascend',
      );
    const at = `at SOC ${row.soc}`;
    requirePositive(need(row.r0, `${where}: r0 ${at}`, 'number-missing'), `${where}: r0 ${at}`);
    row.branches.forEach((branch, j) => {
      const r = need(branch.r, `${where}: r${j + 1} ${at}`, 'number-missing');
      const tau = need(branch.tau, `${where}: tau${j + 1} ${at}`, 'number-missing');
      requirePositive(r, `${where}: r${j + 1} ${at}`);
      // The capacitance is tau / r: with r above zero it is negative exactly where tau is.
      requirePositive(tau, `${where}: tau${j + 1} ${at} (capacitance ${(tau / r).toPrecision(4)} F)`);
    });
  });
}

function openCircuitColumn(cell: CellParameters, tables: readonly CircuitTable[], name: string): Column {
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

function thermalOf(
  cellType: CellTypeParameters,
): { heatCapacityJPerK: number; heatTransferWPerK: number; basis: 'entered' } | null {
  const heatCapacityJPerK = cellType.heatCapacity.value;
  const heatTransferWPerK = cellType.heatTransfer.value;
  if (heatCapacityJPerK === null || heatTransferWPerK === null) return null;
  requirePositive(heatCapacityJPerK, `cell type "${cellType.name}": heat capacity`);
  requirePositive(heatTransferWPerK, `cell type "${cellType.name}": heat transfer`);
  return { heatCapacityJPerK, heatTransferWPerK, basis: 'entered' };
}

function need(
  value: ParameterValue,
  field: string,
  code: 'number-missing' | 'no-capacity' | 'no-open-circuit',
): number {
  if (value.value === null)
    throw new ExportRefused(code, field, null, `it is needed here and was not given (${value.reason})`);
  if (!Number.isFinite(value.value))
    throw new ExportRefused(
      'parameter-out-of-range',
      field,
      String(value.value),
      'a finite number is needed',
    );
  return value.value;
}

function requirePositive(value: number, field: string): void {
  if (!(value > 0))
    throw new ExportRefused(
      'parameter-out-of-range',
      field,
      String(value),
      'it must be above zero to be physical',
    );
}

function optional<K extends string>(key: K, value: number | null): Partial<Record<K, number>> {
  return value === null ? {} : ({ [key]: value } as Record<K, number>);
}

/** All SOC of the grids, ascending; those closer than a millionth count as one. */
function unionOf(grids: readonly (readonly number[])[]): number[] {
  const sorted = grids.flat().sort((a, b) => a - b);
  return sorted.filter((z, i) => i === 0 || z - sorted[i - 1] > 1e-6);
}

/** Straight line between the points; outside, the edge value or the line of the last stretch. */
function interpolate(column: Column, z: number, outside: 'hold' | 'extend'): number {
  const { soc, values } = column;
  const last = soc.length - 1;
  const exact = soc.indexOf(z);
  if (exact >= 0) return values[exact];
  if (outside === 'hold' && z < soc[0]) return values[0];
  if (outside === 'hold' && z > soc[last]) return values[last];
  let k = 0;
  while (k < last - 1 && soc[k + 1] < z) k++;
  return values[k] + ((values[k + 1] - values[k]) * (z - soc[k])) / (soc[k + 1] - soc[k]);
}
