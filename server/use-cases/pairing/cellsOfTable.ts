import { selfDischargeSigns } from '../../../fitting/pairing/index.ts';
import { implausibleReasons } from '../../assess/lots/implausible.ts';
import type { CellToPair } from '../../assess/pairing/cellToPair.ts';
import type { MeasuredColumn } from '../../assess/pairing/usualCriteria.ts';
import {
  type CellSign,
  gateColumns,
  isDeliveredOcv,
  signsOf,
  type UsualGate,
} from '../../assess/pairing/usualGates.ts';
import {
  type CriterionFeature,
  type FeatureQuantity,
  type PairingCriteria,
  quantitiesOfFeature,
} from '../../contract/pairingCriteria.ts';
import type { PairingWarning } from '../../contract/pairingResult.ts';
import { type ErrorPlace, fieldError, Refusal } from '../../errors.ts';
import { findColumn } from '../../import/columnChoice.ts';
import { isMissingText } from '../../import/fields.ts';
import { nameColumns } from '../../import/proposeColumns.ts';
import type { TableFile } from '../../import/readTableFile.ts';
import { planTable, type TablePlan } from '../../import/recognise/tablePlan.ts';
import type { QuantityColumn, TableOptions } from '../../import/recognise/tableQuantityColumns.ts';
import { allIsWell, numberAt, quantityAt } from '../../import/tableQuantities.ts';

/** A table of cells with its columns recognised, before any criteria. */
export interface CellTable {
  readonly file: TableFile;
  readonly plan: TablePlan;
  readonly options: TableOptions;
}

/**
 * Recognises the columns of a plain cell table: one row per cell with its serial and its measured values.
 *
 * @throws Refusal where no column names the cells; RefusedFile where a chosen column or unit does not fit
 */
export function readCellTable(file: TableFile, options: TableOptions = {}): CellTable {
  const plan = planTable(file, options);
  if (plan.serialAt < 0)
    throw new Refusal('cannot-pair', 'No column names the cells.', [
      fieldError(
        'serial',
        file.header.join(', '),
        'none of these columns names the cells',
        'a column named serial or cell_id, or --columns cell=NAME',
      ),
    ]);
  return { file, plan, options };
}

/** The measured columns of a table, as the usual criteria choose among them. */
export function measuredColumns({
  file,
  plan,
}: CellTable): (MeasuredColumn & { readonly taken: QuantityColumn })[] {
  return plan.quantities.map((taken) => ({
    key: taken.column.source,
    quantity: taken.quantity,
    durationS: taken.durationS,
    direction: taken.direction,
    soc: plan.socAt >= 0 && taken.atSoc ? 0.5 : null,
    temperatureC: null,
    cellCount: file.rows.filter((row) => !isMissingText(row[taken.column.index])).length,
    taken,
  }));
}

/** The cells of a table as the criteria want them. */
export interface CellsOfTable {
  readonly cells: CellToPair[];
  /** Criteria with every column filled in that was found by its quantity. */
  readonly criteria: PairingCriteria;
  readonly gates: UsualGate[];
  readonly warnings: PairingWarning[];
}

/**
 * Reads the values that the criteria ask for, the warning signs of the cells, and the usual quantities by which outliers
 * are left out.
 *
 * @throws Refusal naming every feature whose column is not there, and every cell that is there twice
 */
export function cellsOfTable(table: CellTable, criteria: PairingCriteria): CellsOfTable {
  const { file, plan } = table;
  const found = criteria.features.map((feature, i) => findFeature(table, feature, i));
  const missing = found.flatMap((one) => ('missing' in one ? [one.missing] : []));
  if (missing.length > 0)
    throw new Refusal('cannot-pair', 'The table lacks what the criteria ask for.', missing);
  const twice = repeatedSerials(table);
  if (twice.length > 0)
    throw new Refusal(
      'cannot-pair',
      'Some cells are in the table more than once; one row per cell is needed.',
      twice,
    );
  const columns = found.map((one) => ('read' in one ? one : null));
  const values = columns.map((column) => file.rows.map((_, row) => column?.read(row) ?? null));
  const reasons = columns.map((column, f) => implausibleIn(column?.taken ?? null, values[f]));
  const signs = signsOfRows(table);
  const cells = file.rows.map(
    (row, i): CellToPair => ({
      cell: row[plan.serialAt],
      row: file.lines[i],
      ...signsOf(signs[i], criteria),
      values: values.map((column, f) => (reasons[f][i] === null ? (column[i]?.value ?? null) : null)),
      standardUncertainties: values.map((column) => column[i]?.standardUncertainty ?? null),
      implausible: criteria.features.flatMap(({ name }, f) => (reasons[f][i] === null ? [] : [name])),
    }),
  );
  const features = criteria.features.map((feature, f) => ({
    ...feature,
    column: columns[f]?.source ?? null,
  }));
  return {
    cells,
    criteria: { ...criteria, features },
    gates: gatesOf(table, criteria),
    warnings: tableWarnings(table, criteria, columns),
  };
}

interface FoundFeature {
  readonly source: string;
  readonly taken: QuantityColumn | null;
  read(row: number): { value: number; standardUncertainty: number | null } | null;
}

function findFeature(
  table: CellTable,
  feature: CriterionFeature,
  index: number,
): FoundFeature | { readonly missing: ErrorPlace } {
  const { file } = table;
  const taken = takenFor(table, feature);
  const at = taken?.column.index ?? (feature.column === null ? -1 : findColumn(file.header, feature.column));
  if (at < 0)
    return { missing: missingColumn(table, feature, index, 'column', feature.column ?? feature.quantity) };
  const { uncertaintyColumn } = feature;
  const uncertaintyAt = uncertaintyColumn === null ? -1 : findColumn(file.header, uncertaintyColumn);
  if (uncertaintyColumn !== null && uncertaintyAt < 0)
    return { missing: missingColumn(table, feature, index, 'uncertaintyColumn', uncertaintyColumn) };
  const scale = taken === null ? ownScale(file, at) : 1;
  const factor = feature.quantity === 'self-discharge' ? 1e-3 : 1;
  const spreadOf = (row: number): number | null => {
    const number = uncertaintyAt < 0 ? null : numberAt(file, row, uncertaintyAt);
    if (number === null) return null;
    const unit = nameColumns(file.header, file.units)[uncertaintyAt].unit ?? taken?.unit;
    return unit === undefined ? number : Math.abs((number * unit.multiply) / unit.divide);
  };
  return {
    source: file.header[at],
    taken,
    read(row) {
      if (taken === null) {
        const number = numberAt(file, row, at);
        return number === null ? null : { value: number * scale, standardUncertainty: spreadOf(row) };
      }
      const found = quantityAt(file, taken, row);
      const spread = uncertaintyAt < 0 ? (found?.standardUncertainty ?? null) : spreadOf(row);
      return (
        found && {
          value: found.value * factor,
          standardUncertainty: spread === null ? null : spread * factor,
        }
      );
    },
  };
}

/** The column of a feature among those recognised, or assigned to its quantity because the criteria name it. */
function takenFor(table: CellTable, feature: CriterionFeature): QuantityColumn | null {
  const { file, plan, options } = table;
  const names = quantitiesOfFeature[feature.quantity];
  if (feature.column !== null) {
    const index = findColumn(file.header, feature.column);
    const known = plan.quantities.find(
      ({ column, quantity }) => column.index === index && names.includes(quantity),
    );
    const role = names[0];
    if (known !== undefined || index < 0 || role === undefined) return known ?? null;
    if (role === 'fade-rate' || role === 'resistance-rise-rate') return null;
    const assigned = planTable(file, {
      ...options,
      columns: { ...options.columns, [role]: file.header[index] },
    });
    return assigned.quantities.find(({ column }) => column.index === index) ?? null;
  }
  const wanted = feature.condition?.durationS ?? null;
  const fitting = plan.quantities.filter(
    ({ quantity, durationS }) => names.includes(quantity) && (wanted === null || durationS === wanted),
  );
  return fitting[0] ?? null;
}

/** A column that is not a quantity of the table is read in the unit it states, and as it stands where it states none. */
function ownScale(file: TableFile, at: number): number {
  const unit = nameColumns(file.header, file.units)[at].unit;
  return unit === null ? 1 : unit.multiply / unit.divide;
}

function missingColumn(
  { file }: CellTable,
  { name }: CriterionFeature,
  index: number,
  field: 'column' | 'uncertaintyColumn',
  value: string,
): ErrorPlace {
  return fieldError(
    `features.${index}.${field}`,
    value,
    `feature "${name}" has no such column in the table`,
    `one of: ${file.header.join(', ')}`,
  );
}

function implausibleIn(
  taken: QuantityColumn | null,
  values: readonly ({ value: number } | null)[],
): (string | null)[] {
  if (taken === null) return values.map(() => null);
  const { quantity, durationS, direction } = taken;
  const kept = quantity === 'drift' ? 1e3 : 1;
  return implausibleReasons(
    values.map((one) => ({ quantity, durationS, direction, value: one === null ? null : one.value * kept })),
    null,
  );
}

/** Reasons not to use the cell of each row: a noted warning, a drift, a voltage below that of the lot. */
function signsOfRows(table: CellTable): CellSign[][] {
  const { file, plan } = table;
  const columns = measuredColumns(table);
  const drift = columns.find(({ quantity }) => quantity === 'drift')?.taken;
  const ocv = columns.find(isDeliveredOcv)?.taken;
  const read = (taken: QuantityColumn | undefined, row: number) =>
    taken === undefined ? null : quantityAt(file, taken, row);
  const found = selfDischargeSigns(
    file.rows.map((_, row) => {
      const drifting = read(drift, row);
      return {
        driftMvPerDay: drifting?.value ?? null,
        driftUncertaintyMvPerDay: drifting?.standardUncertainty ?? null,
        ocvV: read(ocv, row)?.value ?? null,
      };
    }),
  );
  return file.rows.map((row, i) => {
    const text = plan.warningAt < 0 ? '' : row[plan.warningAt].trim();
    const noted: CellSign[] =
      isMissingText(text) || allIsWell.test(text) ? [] : [{ code: 'damage-noted', text }];
    return [...noted, ...found.filter(({ cell }) => cell === i).map(({ code }) => ({ code, text: code }))];
  });
}

function gatesOf(table: CellTable, criteria: PairingCriteria): UsualGate[] {
  return gateColumns(measuredColumns(table), criteria).map(({ quantity, column }) => {
    const values = table.file.rows.map((_, row) => quantityAt(table.file, column.taken, row));
    const reasons = implausibleIn(column.taken, values);
    const factor = quantity === 'self-discharge' ? 1e-3 : 1;
    return {
      name: column.key,
      quantity: quantity as FeatureQuantity,
      values: values.map((one, i) => (one === null || reasons[i] !== null ? null : one.value * factor)),
    };
  });
}

function tableWarnings(
  { plan }: CellTable,
  criteria: PairingCriteria,
  columns: readonly (FoundFeature | null)[],
): PairingWarning[] {
  const warnings: PairingWarning[] = criteria.features.flatMap(({ name }, f) =>
    columns[f]?.taken?.unitFrom === 'values'
      ? [{ code: 'unit-assumed' as const, feature: name, cells: [], detail: columns[f].taken.unit.symbol }]
      : [],
  );
  const used = new Set(columns.map((column) => column?.source));
  const unused = plan.unused.filter(({ column }) => !used.has(column)).map(({ column }) => column);
  if (unused.length > 0)
    warnings.push({ code: 'columns-not-used', feature: null, cells: [], detail: unused.join(', ') });
  return warnings;
}

function repeatedSerials({ file, plan }: CellTable): ErrorPlace[] {
  const first = new Map<string, number>();
  return file.rows.flatMap((row, i) => {
    const serial = row[plan.serialAt];
    const line = file.lines[i];
    const before = first.get(serial);
    if (before === undefined) first.set(serial, line);
    if (serial !== '' && before === undefined) return [];
    return [
      {
        field: file.header[plan.serialAt],
        row: line,
        value: serial,
        reason: serial === '' ? 'the row names no cell' : `this cell is already in row ${before}`,
        expected: 'every cell once, with its own serial',
      },
    ];
  });
}
