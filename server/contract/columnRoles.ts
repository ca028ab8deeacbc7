import { z } from 'zod';

/** What a column of a record, of an impedance table or of a table of results can be taken for, besides a quantity. */
export const columnRoles = [
  'time',
  'voltage',
  'current',
  'temperature',
  'step',
  'cycle',
  'cell',
  'run',
  'frequency',
  'real',
  'imaginary',
  'magnitude',
  'phase',
  'sweep',
  'soc',
  'charge',
  'warning',
  'operator',
  'state',
  'charge-current',
  'discharge-current',
] as const;
export type ColumnRole = (typeof columnRoles)[number];

/** What a column of a stack log can be taken for, besides the time and the columns of each cell. */
export const stackLogRoles = [
  'stack-current',
  'stack-voltage',
  'bus-voltage',
  'bus-current',
  'source-voltage',
  'ambient-temperature',
  'converter-temperature',
] as const;
/** Columns of a stack log that each cell has its own of, numbered from 1 at the negative end: `cell-voltage-1`. */
export const stackLogCellRoles = ['cell-voltage', 'cell-temperature'] as const;

/** Quantities that a column of a table of results can be taken for. */
export const quantityRoles = [
  'capacity',
  'charge-capacity',
  'energy',
  'charge-energy',
  'coulombic-efficiency',
  'energy-efficiency',
  'resistance',
  'rdc',
  'impedance-1khz',
  'r0',
  'r1',
  'r2',
  'r3',
  'ocv',
  'self-discharge',
  'drift',
  'mass',
  'thickness',
  'charge-time',
  'temperature-max',
] as const;

const condition = '(/\\d+(\\.\\d+)?(ms|s|min))?(/(charge|discharge))?';
const rolePattern = new RegExp(
  `^((${[...columnRoles, ...quantityRoles].join('|')})${condition}|${stackLogRoles.join('|')}|(${stackLogCellRoles.join('|')})-[1-9])$`,
);

/** Whether a text is a role: one of {@link columnRoles}, of a stack log, or a quantity such as `capacity` or `resistance/10s/discharge`. */
export function isColumnRole(role: string): boolean {
  return rolePattern.test(role);
}

/** A role of a column: `time`, `cell`, `capacity`, `resistance/10s/discharge` … */
export const columnRole = z
  .string()
  .max(60)
  .regex(rolePattern, 'is not a role of a column')
  .describe(
    `One of ${columnRoles.join(', ')}, or a quantity with its condition, e.g. resistance/10s/discharge; in a stack log one of ` +
      `time, ${stackLogRoles.join(', ')}, cell-voltage-1, cell-temperature-1 and so on`,
  );
