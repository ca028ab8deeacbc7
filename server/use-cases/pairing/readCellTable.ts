import type { CellToPair } from '../../assess/pairing/cellToPair.ts';
import type { CriterionFeature, FeatureQuantity, PairingCriteria } from '../../contract/pairingCriteria.ts';
import { type ErrorPlace, fieldError, Refusal } from '../../errors.ts';
import { findColumn } from '../../import/columnChoice.ts';
import { isMissingText } from '../../import/fields.ts';
import { capacityFault } from '../../import/plausibleCapacity.ts';
import { type NamedColumn, nameColumns } from '../../import/proposeColumns.ts';
import type { TableFile } from '../../import/readTableFile.ts';
import { serialNamesOfTable } from '../../import/serialNames.ts';
import { allIsWell, numberAt, warningNames } from '../../import/tableQuantities.ts';

/** A column of a cell table and what it holds. */
export interface FeatureColumn {
  readonly column: NamedColumn;
  readonly quantity: FeatureQuantity;
  readonly durationS: number | null;
  readonly direction: 'charge' | 'discharge' | null;
  readonly multiply: number;
  /** The header names no unit, so the product's own is assumed. */
  readonly unitAssumed: boolean;
}

const uncertaintyWords = /\b(standard )?(uncertainty|u|sd|std|sigma|stderr)\b/;
const notOfTheCell = /\b(nominal|rated|index|count|date)\b/;

/** What the cells of a table are called and measured by, before any criteria. */
export interface CellTable {
  readonly file: TableFile;
  readonly serialAt: number;
  readonly warningAt: number;
  readonly features: readonly FeatureColumn[];
}

/**
 * Finds the columns of a plain cell table: one row per cell with its serial and its measured values.
 *
 * @throws Refusal where no column names the cells.
 */
export function readCellTable(file: TableFile): CellTable {
  const columns = nameColumns(file.header, file.units);
  const serial = columns.find(({ name, unit }) => unit === null && serialNamesOfTable.test(name));
  if (!serial)
    throw new Refusal('cannot-pair', 'No column names the cells.', [
      fieldError(
        'serial',
        file.header.join(', '),
        'none of these columns names the cells',
        'a column named serial or cell_id',
      ),
    ]);
  const features = columns.flatMap((column) => {
    const found = column.index === serial.index ? null : featureOf(column);
    return found === null ? [] : [found];
  });
  const warningAt = columns.find(({ name }) => warningNames.test(name))?.index ?? -1;
  return { file, serialAt: serial.index, warningAt, features };
}

/** What a column measures, from its name and unit; null where it is nothing that cells are paired by. */
function featureOf(column: NamedColumn): FeatureColumn | null {
  const { name, unit, source } = column;
  if (notOfTheCell.test(name) || uncertaintyWords.test(name)) return null;
  const direction = /\b(discharge|dis|dch)\b/.test(name)
    ? 'discharge'
    : /\b(charge|chg|ch)\b/.test(name)
      ? 'charge'
      : null;
  const multiply = unit === null ? 1 : unit.multiply / unit.divide;
  const of = (quantity: FeatureQuantity, durationS: number | null = null): FeatureColumn => ({
    column,
    quantity,
    durationS,
    direction,
    multiply,
    unitAssumed: unit === null,
  });
  const perDay = /\b(mv|v|uv) ?(per|\/)? ?(d|day)\b/.exec(
    source.toLowerCase().replace(/[\s_\-.:()[\]]+/g, ' '),
  );
  if (perDay || /\b(self discharge|drift)\b/.test(name)) {
    const factor = perDay?.[1] === 'mv' ? 1e-3 : perDay?.[1] === 'uv' ? 1e-6 : 1;
    return { ...of('self-discharge'), multiply: factor, unitAssumed: !perDay };
  }
  if (unit?.quantity === 'mass' || (unit === null && name === 'mass')) return of('mass');
  if (unit?.quantity === 'charge' || (unit === null && /\bcapacity\b/.test(name)))
    return /\bcapacity\b|^q$/.test(name) ? of('capacity') : null;
  if (unit?.quantity === 'voltage' || unit === null)
    if (/\b(ocv|open circuit|open circuit voltage|rest voltage)\b/.test(name))
      return of('open-circuit-voltage');
  if (unit !== null && unit.quantity !== 'resistance') return null;
  if (/\b1 ?khz\b|\b(rac|acir|impedance)\b/.test(name)) return of('impedance-1khz');
  if (/^(r0|ohmic resistance)$/.test(name)) return of('ohmic-resistance');
  if (unit !== null || /\b(resistance|rdc|dcir|dcr)\b|^r( \d+ ?m?s)?$/.test(name))
    return of('resistance', durationIn(name));
  return null;
}

function durationIn(name: string): number | null {
  const match = /(\d+(?:p\d+)?) ?(ms|s|sec|min)\b/.exec(name);
  if (match === null) return null;
  const number = Number(match[1].replace('p', '.'));
  return match[2] === 'ms' ? number / 1000 : match[2] === 'min' ? number * 60 : number;
}

/** Quantities whose values may be zero or negative. */
const maySink: ReadonlySet<FeatureQuantity> = new Set([
  'self-discharge',
  'capacity-fade',
  'resistance-rise',
  'other',
]);

/** The cells of a table as the criteria want them, and which units had to be assumed. */
export interface CellsOfTable {
  readonly cells: CellToPair[];
  /** Criteria with every column filled in that was found by its quantity. */
  readonly criteria: PairingCriteria;
  readonly unitsAssumed: string[];
}

/**
 * Reads the values that the criteria ask for.
 *
 * @throws Refusal naming every feature whose column is not there, and every cell that is there twice.
 */
export function cellsOfTable(table: CellTable, criteria: PairingCriteria): CellsOfTable {
  const { file } = table;
  const found = criteria.features.map((feature, i) => findFeature(table, feature, i));
  const missing = found.flatMap((f) => (f.missing === null ? [] : [f.missing]));
  if (missing.length > 0)
    throw new Refusal('cannot-pair', 'The table lacks what the criteria ask for.', missing);
  const twice = repeatedSerials(table);
  if (twice.length > 0)
    throw new Refusal(
      'cannot-pair',
      'Some cells are in the table more than once; one row per cell is needed.',
      twice,
    );
  const cells = file.rows.map((row, i) => {
    const value = (at: number, multiply: number) => {
      const number = at < 0 ? null : numberAt(file, i, at);
      return number === null ? null : number * multiply;
    };
    const text = table.warningAt < 0 ? '' : row[table.warningAt];
    return {
      cell: row[table.serialAt],
      row: file.lines[i],
      warningSign: isMissingText(text) || allIsWell.test(text) ? null : text,
      values: found.map(({ at, multiply }) => value(at, multiply)),
      standardUncertainties: found.map(({ uncertaintyAt, uncertaintyMultiply }) =>
        value(uncertaintyAt, uncertaintyMultiply),
      ),
    };
  });
  const impossible = cells.flatMap(({ row, values }) =>
    values.flatMap((value, f) => {
      const fault = value === null ? null : faultOf(criteria.features[f].quantity, value);
      if (value === null || fault === null) return [];
      return [{ field: file.header[found[f].at], row, value: String(value / found[f].multiply), ...fault }];
    }),
  );
  if (impossible.length > 0)
    throw new Refusal('cannot-pair', 'The table holds values that cannot be.', impossible);
  const features = criteria.features.map((feature, i) => ({ ...feature, column: file.header[found[i].at] }));
  const unitsAssumed = criteria.features.filter((_, i) => found[i].unitAssumed).map(({ name }) => name);
  return { cells, criteria: { ...criteria, features }, unitsAssumed };
}

/** Why a value of a cell cannot be, and what was expected; null where it can. */
function faultOf(quantity: FeatureQuantity, value: number): { reason: string; expected: string } | null {
  if (!(value > 0) && !maySink.has(quantity))
    return {
      reason: `a ${quantity} is above zero`,
      expected: 'a positive number, or nothing where it was not measured',
    };
  return quantity === 'capacity' ? capacityFault(value, null) : null;
}

function findFeature(table: CellTable, feature: CriterionFeature, index: number) {
  const { header, units } = table.file;
  const byQuantity = table.features.filter(
    ({ quantity, durationS }) =>
      quantity === feature.quantity &&
      (feature.condition?.durationS == null || durationS === feature.condition.durationS),
  );
  const at =
    feature.column === null ? (byQuantity[0]?.column.index ?? -1) : findColumn(header, feature.column);
  const columns = nameColumns(header, units);
  const multiplyOf = (column: number) => {
    const known = table.features.find((candidate) => candidate.column.index === column);
    const unit = columns[column]?.unit;
    return known?.multiply ?? (unit ? unit.multiply / unit.divide : 1);
  };
  const assumed = (column: number) => {
    const known = table.features.find((candidate) => candidate.column.index === column);
    if (feature.quantity === 'other' || column < 0) return false;
    return known ? known.unitAssumed : columns[column].unit === null;
  };
  const uncertaintyAt =
    feature.uncertaintyColumn === null
      ? at < 0
        ? -1
        : uncertaintyBeside(columns, columns[at])
      : findColumn(header, feature.uncertaintyColumn);
  return {
    at,
    multiply: multiplyOf(at),
    uncertaintyAt,
    uncertaintyMultiply: columns[uncertaintyAt]?.unit ? multiplyOf(uncertaintyAt) : multiplyOf(at),
    unitAssumed: assumed(at),
    missing: missingColumn(table, feature, index, at < 0, uncertaintyAt < 0),
  };
}

/** What to say where the criteria name a column that the table lacks; null where it has all. */
function missingColumn(
  table: CellTable,
  feature: CriterionFeature,
  index: number,
  noValue: boolean,
  noUncertainty: boolean,
): ErrorPlace | null {
  const { column, uncertaintyColumn, quantity, name } = feature;
  const lacking = noValue
    ? { field: 'column', value: column ?? quantity }
    : uncertaintyColumn !== null && noUncertainty
      ? { field: 'uncertaintyColumn', value: uncertaintyColumn }
      : null;
  if (lacking === null) return null;
  return fieldError(
    `features.${index}.${lacking.field}`,
    lacking.value,
    `feature "${name}" has no such column in the table`,
    `one of: ${table.file.header.join(', ')}`,
  );
}

/** The column of the same name with a word for uncertainty in it, −1 for none. */
function uncertaintyBeside(columns: readonly NamedColumn[], column: NamedColumn): number {
  const plain = (name: string) => name.replace(uncertaintyWords, '').replace(/\s+/g, ' ').trim();
  return (
    columns.find((other) => uncertaintyWords.test(other.name) && plain(other.name) === column.name)?.index ??
    -1
  );
}

function repeatedSerials(table: CellTable): ErrorPlace[] {
  const first = new Map<string, number>();
  return table.file.rows.flatMap((row, i) => {
    const serial = row[table.serialAt];
    const line = table.file.lines[i];
    const before = first.get(serial);
    if (before === undefined) first.set(serial, line);
    if (serial !== '' && before === undefined) return [];
    return [
      {
        field: table.file.header[table.serialAt],
        row: line,
        value: serial,
        reason: serial === '' ? 'the row names no cell' : `this cell is already in row ${before}`,
        expected: 'every cell once, with its own serial',
      },
    ];
  });
}
