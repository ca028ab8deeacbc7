import type { ColumnRole } from '../contract/columnRoles.ts';
import { type ColumnMapping, columnMapping } from './columnMapping.ts';
import type { TableHead } from './dialect.ts';
import type { NumberRole, PlanOptions } from './planOptions.ts';
import type { NamedColumn } from './proposeColumns.ts';
import { RefusedFile } from './refusedFile.ts';
import type { Quantity, Unit } from './units.ts';
import { parseUnit, unitsOf } from './units.ts';

/** A column whose numbers are read, with the conversion to the unit we keep. */
export interface NumberColumn {
  readonly mapping: ColumnMapping;
  readonly unit: Unit | null;
  readonly negate: boolean;
  /** A missing value refuses the file where true, and becomes NaN where false. */
  readonly required: boolean;
}

const quantityOf: Readonly<Record<string, Quantity>> = {
  time: 'time',
  voltage: 'voltage',
  current: 'current',
  temperature: 'temperature',
};
const keptUnitOf: Readonly<Record<string, string>> = {
  time: 's',
  voltage: 'V',
  current: 'A',
  temperature: '°C',
};

/** A column in its role, with its unit from options, header or units row. @throws RefusedFile `unknown-unit` */
export function numberColumn(
  role: NumberRole,
  column: NamedColumn,
  options: PlanOptions,
  warnings: string[],
  head: TableHead,
): NumberColumn {
  const quantity = quantityOf[role];
  const givenText = options.units?.[role];
  let unit: Unit | null = column.unit;
  let unitFrom: ColumnMapping['unitFrom'] = column.unitFrom;
  if (givenText !== undefined) {
    unit = parseUnit(givenText);
    unitFrom = 'given';
    if (unit === null || unit.quantity !== quantity) throw unknownUnit(role, column, givenText, head);
  } else if (quantity === undefined) {
    unit = null;
    unitFrom = null;
  } else if (unit === null || unit.quantity !== quantity) {
    // A unit that stands there but means nothing to us must not be guessed at.
    if (column.unitText !== null && looksLikeUnit(column.unitText)) {
      throw unknownUnit(role, column, column.unitText, head);
    }
    unit = parseUnit(keptUnitOf[role]);
    unitFrom = 'assumed';
    warnings.push(`${role}: column "${column.source}" states no unit; ${keptUnitOf[role]} was taken`);
  }
  const negate = role === 'current' && options.currentSign === 'discharge-positive';
  return {
    mapping: columnMapping(role, column, unit, unitFrom, negate),
    unit,
    negate,
    required: role !== 'step' && role !== 'cycle',
  };
}

function looksLikeUnit(text: string): boolean {
  return /^[A-Za-zµμΩ°%]{1,6}$/.test(text.trim());
}

function unknownUnit(role: ColumnRole, column: NamedColumn, text: string, head: TableHead): RefusedFile {
  const quantity = quantityOf[role];
  return new RefusedFile({
    code: 'unknown-unit',
    row: head.dialect.unitsLine ?? head.dialect.headerLine,
    column: column.source,
    value: text,
    reason: quantity === undefined ? `The ${role} has no unit` : `Not a unit of ${quantity}`,
    expected:
      quantity === undefined
        ? 'Leave the unit out'
        : `Units understood are ${unitsOf(quantity).join(', ')}; give one with --units ${role}=UNIT`,
  });
}

/** Any other column of numbers, kept in the file's own unit. */
export function extraColumn(column: NamedColumn): NumberColumn {
  return {
    mapping: {
      role: 'extra',
      source: column.source,
      index: column.index,
      unit: column.unit?.symbol ?? column.unitText,
      unitFrom: column.unitFrom,
      keptUnit: column.unit?.symbol ?? column.unitText,
      signTurned: false,
    },
    unit: null,
    negate: false,
    required: false,
  };
}
