import type { Sweep } from '../../fitting/impedance/index.ts';
import type { ColumnMapping } from './columnMapping.ts';
import type { TableFile } from './readTableFile.ts';
import { RefusedFile } from './refusedFile.ts';
import type { SpectrumColumn, SpectrumOptions, SpectrumPlan, SpectrumRole } from './spectrumColumns.ts';
import { planSpectrum } from './spectrumColumns.ts';
import { imaginaryColumn, turnsSign } from './spectrumSign.ts';
import { ABOVE_FRACTIONS, numberAt } from './tableQuantities.ts';

/** One spectrum of a table: its condition, and its points in the order of the file. */
export interface TableSweep extends Sweep {
  /** Serial in the table; null where it has no such column. */
  readonly cell: string | null;
  /** The text of the sweep column; where there is none, the number of the sweep among those of its cell. */
  readonly label: string;
  /** Line of the file of each point, 1 for the first. */
  readonly sourceRows: readonly number[];
}

/** The spectra of a table, and how its columns were taken. */
export interface TableSpectra {
  readonly sweeps: readonly TableSweep[];
  readonly mapping: readonly ColumnMapping[];
  readonly warnings: readonly string[];
}

/** A row, with its numbers in the units we keep and the file's own sign. */
interface Row {
  readonly row: number;
  readonly cell: string | null;
  readonly sweep: string | null;
  readonly frequencyHz: number;
  /** Real part and imaginary part in Ω, or magnitude in Ω and phase in rad. */
  readonly first: number;
  readonly second: number;
  readonly conditions: Readonly<Record<Condition, number | null>>;
}

type ImpossibleCode = 'impossible-frequency' | 'impossible-impedance' | 'impossible-soc';

type Condition = 'soc' | 'charge' | 'voltage' | 'temperature';

/**
 * The spectra of an impedance table. Rows of one cell and one sweep belong together wherever they stand, frequencies may
 * be in any order. Without a sweep column a frequency that comes again begins another sweep of the cell. Stored is Im Z,
 * negative where the cell is capacitive; a file that holds −Im Z is turned round.
 *
 * @throws RefusedFile naming row, column and value of what is not a number or is impossible
 */
export function readSpectra(table: TableFile, options: SpectrumOptions = {}): TableSpectra {
  const plan = planSpectrum(table, options);
  const rows = table.rows.map((_, i) => readRow(table, plan, i));
  const warnings = [...plan.warnings];
  const percent = isSocInPercent(rows, plan);
  const turned = turnsSign(
    plan,
    rows.map(({ frequencyHz, second }) => ({ frequencyHz, second })),
    options.imaginarySign,
    warnings,
  );
  const groups = groupRows(rows, plan, warnings);
  for (const group of groups) refuseLong(table, group);
  const signed = imaginaryColumn(plan);
  return {
    sweeps: groups.map(({ label, rows: own }) => sweepOf(label, own, plan, turned, percent, table)),
    mapping: [...plan.columns.values()].map(({ mapping }) => ({
      ...mapping,
      signTurned: turned && mapping === signed.mapping,
    })),
    warnings,
  };
}

function readRow(table: TableFile, plan: SpectrumPlan, i: number): Row {
  const text = (role: SpectrumRole): string | null => {
    const column = plan.columns.get(role);
    return column === undefined ? null : table.rows[i][column.mapping.index];
  };
  const cell = text('cell');
  if (cell === '') throw missingValue(table, i, plan.columns.get('cell') as SpectrumColumn);
  const [first, second] =
    plan.form === 'cartesian' ? (['real', 'imaginary'] as const) : (['magnitude', 'phase'] as const);
  const row: Row = {
    row: i + 1,
    cell,
    sweep: text('sweep'),
    frequencyHz: needed(table, plan, i, 'frequency'),
    first: needed(table, plan, i, first),
    second: needed(table, plan, i, second),
    conditions: {
      soc: optional(table, plan, i, 'soc'),
      charge: optional(table, plan, i, 'charge'),
      voltage: optional(table, plan, i, 'voltage'),
      temperature: optional(table, plan, i, 'temperature'),
    },
  };
  checkRow(table, plan, row);
  return row;
}

/** Far beyond what any instrument does; beyond them squares and powers overflow. */
const FREQUENCY_HZ = { least: 1e-9, most: 1e12 };
const IMPEDANCE_OHM = { least: 1e-12, most: 1e12 };

function checkRow(table: TableFile, plan: SpectrumPlan, { row, frequencyHz, first, second }: Row): void {
  const refuse = (role: SpectrumRole, code: ImpossibleCode, reason: string, expected: string): RefusedFile =>
    impossible(table, plan, row - 1, role, code, reason, expected);
  if (!(frequencyHz > 0))
    throw refuse('frequency', 'impossible-frequency', 'This is not a frequency', 'A frequency is above 0');
  if (frequencyHz < FREQUENCY_HZ.least || frequencyHz > FREQUENCY_HZ.most) {
    const range = `A frequency lies between ${FREQUENCY_HZ.least} and ${FREQUENCY_HZ.most} Hz`;
    throw refuse('frequency', 'impossible-frequency', 'No spectrum is measured at this frequency', range);
  }
  const expected = 'Leave out rows without a measured value';
  if (plan.form === 'cartesian' && first === 0 && second === 0) {
    const reason = 'This is not an impedance: real and imaginary part are both 0';
    throw refuse('real', 'impossible-impedance', reason, expected);
  }
  if (plan.form === 'polar' && !(first > 0)) {
    const reason = 'This is not an impedance: the magnitude is not above 0';
    throw refuse('magnitude', 'impossible-impedance', reason, expected);
  }
  const sizeOhm = plan.form === 'polar' ? first : Math.hypot(first, second);
  if (sizeOhm < IMPEDANCE_OHM.least || sizeOhm > IMPEDANCE_OHM.most) {
    const range = `A magnitude lies between ${IMPEDANCE_OHM.least} and ${IMPEDANCE_OHM.most} ohm; check the unit`;
    throw refuse(
      plan.form === 'polar' ? 'magnitude' : 'real',
      'impossible-impedance',
      'No cell has such an impedance',
      range,
    );
  }
}

function optional(table: TableFile, plan: SpectrumPlan, i: number, role: SpectrumRole): number | null {
  const column = plan.columns.get(role);
  if (column === undefined) return null;
  const value = numberAt(table, i, column.mapping.index);
  return value === null || column.unit === null ? value : kept(value, column.unit);
}

function needed(table: TableFile, plan: SpectrumPlan, i: number, role: SpectrumRole): number {
  const value = optional(table, plan, i, role);
  if (value === null) throw missingValue(table, i, plan.columns.get(role) as SpectrumColumn);
  return value;
}

function kept(value: number, unit: NonNullable<SpectrumColumn['unit']>): number {
  return (value * unit.multiply) / unit.divide + unit.add;
}

/** Percent by the unit, or, where none is stated, because one of the values is not a fraction. */
function isSocInPercent(rows: readonly Row[], plan: SpectrumPlan): boolean {
  const column = plan.columns.get('soc');
  return (
    column?.unit === null && rows.some(({ conditions: { soc } }) => soc !== null && soc > ABOVE_FRACTIONS)
  );
}

/** More points than this are not a spectrum, and would take long to evaluate. */
const MOST_POINTS = 2000;

interface Group {
  readonly label: string;
  readonly rows: Row[];
}

function groupRows(rows: readonly Row[], plan: SpectrumPlan, warnings: string[]): Group[] {
  if (plan.columns.has('sweep')) {
    const byKey = new Map<string, Group>();
    for (const row of rows) {
      const key = JSON.stringify([row.cell, row.sweep]);
      const known = byKey.get(key);
      if (known === undefined) byKey.set(key, { label: row.sweep ?? '', rows: [row] });
      else known.rows.push(row);
    }
    return [...byKey.values()];
  }
  const groups: Group[] = [];
  const present = new Map<string | null, { group: Group; seen: Set<number>; count: number }>();
  for (const row of rows) {
    const open = present.get(row.cell);
    if (open !== undefined && !open.seen.has(row.frequencyHz)) {
      open.group.rows.push(row);
      open.seen.add(row.frequencyHz);
      continue;
    }
    const count = (open?.count ?? 0) + 1;
    const group = { label: String(count), rows: [row] };
    groups.push(group);
    present.set(row.cell, { group, seen: new Set([row.frequencyHz]), count });
  }
  if (groups.length > present.size) {
    warnings.push(
      `no column tells the sweeps apart: a frequency that came again began another one, which makes ${groups.length} sweeps`,
    );
  }
  return groups;
}

function refuseLong(table: TableFile, { label, rows }: Group): void {
  if (rows.length <= MOST_POINTS) return;
  throw new RefusedFile({
    code: 'too-many-rows',
    row: table.lines[rows[MOST_POINTS].row - 1],
    value: label,
    reason: `The sweep has more than ${MOST_POINTS} points`,
    expected: 'A spectrum has some tens of points; name the column that tells the sweeps apart',
  });
}

function sweepOf(
  label: string,
  rows: readonly Row[],
  plan: SpectrumPlan,
  turned: boolean,
  percent: boolean,
  table: TableFile,
): TableSweep {
  const sign = turned ? -1 : 1;
  const polar = plan.form === 'polar';
  const soc = mean(rows, 'soc');
  const fraction = soc !== null && percent ? soc / 100 : soc;
  if (fraction !== null && !(fraction >= 0 && fraction <= 1))
    throw impossible(
      table,
      plan,
      rows[0].row - 1,
      'soc',
      'impossible-soc',
      'The state of charge lies outside 0 to 100 %',
      'Write it between 0 and 1, or between 0 and 100 %',
    );
  return {
    cell: rows[0].cell,
    label,
    soc: fraction,
    chargeAh: mean(rows, 'charge'),
    voltageV: mean(rows, 'voltage'),
    temperatureC: mean(rows, 'temperature'),
    spectrum: {
      frequencyHz: Float64Array.from(rows, (row) => row.frequencyHz),
      realOhm: Float64Array.from(rows, ({ first, second }) => (polar ? first * Math.cos(second) : first)),
      imaginaryOhm: Float64Array.from(
        rows,
        ({ first, second }) => sign * (polar ? first * Math.sin(second) : second),
      ),
    },
    sourceRows: rows.map(({ row }) => table.lines[row - 1]),
  };
}

/** The value that all rows share, exactly; where they differ, their mean. Rows without one do not count. */
function mean(rows: readonly Row[], condition: Condition): number | null {
  const values = rows.flatMap((row) => row.conditions[condition] ?? []);
  if (values.length === 0) return null;
  if (values.every((value) => value === values[0])) return values[0];
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function missingValue(table: TableFile, i: number, column: SpectrumColumn): RefusedFile {
  return new RefusedFile({
    code: 'missing-value',
    row: table.lines[i],
    column: column.mapping.source,
    value: table.rows[i][column.mapping.index],
    reason: table.rows[i][column.mapping.index] === '' ? 'The field is empty' : 'The field holds no value',
    expected:
      column.unit === null ? 'Every row needs the serial of its cell' : 'Every row needs a number here',
  });
}

function impossible(
  table: TableFile,
  plan: SpectrumPlan,
  i: number,
  role: SpectrumRole,
  code: ImpossibleCode,
  reason: string,
  expected: string,
): RefusedFile {
  const { mapping } = plan.columns.get(role) as SpectrumColumn;
  return new RefusedFile({
    code,
    row: table.lines[i],
    column: mapping.source,
    value: table.rows[i][mapping.index],
    reason,
    expected,
  });
}
