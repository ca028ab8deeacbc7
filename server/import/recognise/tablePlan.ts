import type { ColumnMapping } from '../columnMapping.ts';
import { columnMapping } from '../columnMapping.ts';
import type { NamedColumn } from '../proposeColumns.ts';
import { nameColumns } from '../proposeColumns.ts';
import { currentSignOf } from '../stateColumn.ts';
import { noPulses, type PulseColumns, pulseColumns } from './pulseColumns.ts';
import { recogniseQuantity } from './quantities.ts';
import { conditionPlaces } from './tableConditionColumns.ts';
import {
  chosenQuantities,
  type QuantityColumn,
  quantityColumn,
  type TableHeader,
  type TableOptions,
  typicalCapacity,
  unitOf,
} from './tableQuantityColumns.ts';

/** A column that is not used, and why. */
export interface UnusedColumn {
  readonly column: string;
  readonly reason: 'not-recognised' | 'unit-not-stated';
}

/** How the columns of a cell or cycle table were taken. */
export interface TablePlan {
  readonly serialAt: number;
  readonly cycleAt: number;
  readonly socAt: number;
  readonly temperatureAt: number;
  /** Column that marks cells which must not be used, or -1. */
  readonly warningAt: number;
  /** Column of who, or which fixture, took the reading, or -1. */
  readonly operatorAt: number;
  readonly quantities: readonly QuantityColumn[];
  /** Where a row is a pulse: its current, direction and voltages. */
  readonly pulses: PulseColumns;
  readonly unused: readonly UnusedColumn[];
  readonly warnings: readonly string[];
}

/**
 * Decides which columns of a table of results are what: explicit choices first, then names and units by the one table of
 * quantities. A column without a unit is taken only where one unit alone makes its numbers possible, and that is said;
 * otherwise it is named as not used.
 *
 * @throws RefusedFile `unknown-column`, `unknown-unit` for choices that do not fit the table
 */
export function planTable(table: TableHeader, options: TableOptions = {}): TablePlan {
  const columns = nameColumns(table.header, table.units);
  const places = conditionPlaces(columns, table, options.columns);
  const chosen = chosenQuantities(columns, table, options);
  const taken = new Set([...Object.values(places), ...chosen.map(({ column }) => column.index)]);
  const found = columns.flatMap((column) => {
    if (taken.has(column.index)) return [];
    const recognised = recogniseQuantity(column);
    // `null` says that the table has no such column.
    if (recognised === null || options.columns?.[recognised.quantity] === null) return [];
    return [{ column, ...recognised }];
  });
  const warnings: string[] = [];
  const uncertain = new Set<number>();
  const unused: UnusedColumn[] = [];
  const quantities: QuantityColumn[] = [...chosen];
  const capacityAh = typicalCapacity(table, [...chosen, ...found]);
  for (const one of found) {
    const given = options.units?.[one.quantity];
    const unit = unitOf(table, one, given, capacityAh);
    if (unit === null) {
      unused.push({ column: one.column.source, reason: 'unit-not-stated' });
      continue;
    }
    quantities.push(quantityColumn(table, columns, one, unit, given, warnings));
  }
  quantities.sort((a, b) => a.column.index - b.column.index);
  for (const { uncertainty } of quantities) if (uncertainty !== null) uncertain.add(uncertainty.index);
  const pulses = pulsesOf(table, columns, quantities);
  const used = new Set([
    ...taken,
    ...uncertain,
    ...quantities.map(({ column }) => column.index),
    ...pulseIndexes(pulses),
  ]);
  const named = new Set(unused.map(({ column }) => column));
  for (const { index, source } of columns)
    if (!used.has(index) && !named.has(source) && source !== '')
      unused.push({ column: source, reason: 'not-recognised' });
  if (quantities.some((q) => q.quantity === 'resistance' && q.durationS === null)) {
    warnings.push('a resistance column does not say after how many seconds it was measured');
  }
  warnings.push(...unusedWarnings(unused));
  return { ...places, quantities, pulses, unused, warnings };
}

/** Pulses are only looked for where a row has resistances or voltages of one. */
function pulsesOf(
  { rows }: TableHeader,
  columns: readonly NamedColumn[],
  quantities: readonly QuantityColumn[],
): PulseColumns {
  const found = pulseColumns(columns, (index) =>
    rows.map((row) => row[index] ?? '').every((word) => Math.abs(currentSignOf(word) ?? 0) === 1),
  );
  const resistances = quantities.some(({ quantity }) => quantity === 'resistance');
  return found.voltages.length > 0 || resistances ? found : noPulses;
}

function pulseIndexes({ currentAt, directionAt, before, voltages }: PulseColumns): number[] {
  return [currentAt, directionAt, before?.column.index ?? -1, ...voltages.map(({ column }) => column.index)];
}

function unusedWarnings(unused: readonly UnusedColumn[]): string[] {
  const unknown = unused
    .filter(({ reason }) => reason === 'not-recognised')
    .map(({ column }) => `"${column}"`);
  return [
    ...unused
      .filter(({ reason }) => reason === 'unit-not-stated')
      .map(({ column }) => `column "${column}" states no unit and was not taken; give it with --units`),
    ...(unknown.length === 0
      ? []
      : [`columns not used: ${unknown.slice(0, 30).join(', ')}${unknown.length > 30 ? ', …' : ''}`]),
  ];
}

/** The columns of a plan as preview and report list them. */
export function tableMapping(plan: TablePlan, header: readonly string[]): ColumnMapping[] {
  const condition = (role: ColumnMapping['role'], index: number): ColumnMapping[] =>
    index < 0 ? [] : [columnMapping(role, { source: header[index], index }, null, null, false)];
  return [
    ...condition('cell', plan.serialAt),
    ...condition('cycle', plan.cycleAt),
    ...condition('soc', plan.socAt),
    ...condition('temperature', plan.temperatureAt),
    ...condition('warning', plan.warningAt),
    ...condition('operator', plan.operatorAt),
    ...condition('current', plan.pulses.currentAt),
    ...condition('state', plan.pulses.directionAt),
    ...plan.pulses.voltages.map(({ column, durationS, unit }) =>
      columnMapping(
        `resistance/${durationS}s` as ColumnMapping['role'],
        column,
        unit,
        column.unitFrom,
        false,
      ),
    ),
    ...plan.quantities.map(({ column, quantity, durationS, direction, unit, unitFrom, signTurned }) => {
      const role = [quantity, durationS === null ? '' : `${durationS}s`, direction ?? '']
        .filter(Boolean)
        .join('/');
      return columnMapping(role as ColumnMapping['role'], column, unit, unitFrom, signTurned);
    }),
  ];
}
