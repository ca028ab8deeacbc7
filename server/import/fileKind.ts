import { isChargeLogHeader } from './chargeLogColumns.ts';
import type { ColumnChoice } from './columnChoice.ts';
import type { TableHead } from './dialect.ts';
import { candidatesFor, keyColumns, nameColumns } from './proposeColumns.ts';
import { pulseColumns } from './recognise/pulseColumns.ts';
import { serialNamesOfTable } from './recognise/serials.ts';
import { isSpectrumHeader } from './spectrumColumns.ts';

/**
 * What a file holds: the sample series of one cell or of a stack with its cells, or one row per cell, per cycle, per tester step, or
 * per frequency.
 */
export type FileKind =
  | 'record'
  | 'stack-log'
  | 'cell-table'
  | 'cycle-table'
  | 'step-table'
  | 'impedance-table';

/** Names of columns that count a cell's cycles. */
export const cycleNames =
  /^(cycle|cycle (number|index|id|no)|(dis)?charge (index|number)|discharges before|loop|n)$/;

/**
 * What a file holds, from its header: a frequency with real and imaginary part, or magnitude and phase, makes an
 * impedance table, unless time or current are chosen; time, a current and the voltages of two cells make a stack log; time, voltage and current make a record; a step's duration makes a step table;
 * a cycle column beside a cell's serial, or quantities per cycle, make a cycle table; a serial makes a cell table.
 *
 * @param chosen columns that were given explicitly
 * @returns null where none of these is recognised
 */
export function findFileKind(head: TableHead, chosen: ColumnChoice = {}): FileKind | null {
  const columns = nameColumns(head.header, head.units);
  const has = (pattern: RegExp): boolean => columns.some(({ name }) => pattern.test(name));
  const asRecord = typeof chosen.time === 'string' || typeof chosen.current === 'string';
  if (!asRecord && isSpectrumHeader(head.header, head.units, chosen)) return 'impedance-table';
  const isRecord = (['time', 'voltage', 'current'] as const).every(
    (role) => typeof chosen[role] === 'string' || (candidatesFor(role, columns)[0]?.score ?? 0) > 5,
  );
  // Voltages at times after the beginning of a pulse belong to one row per pulse, whatever time stands beside them.
  const isPulseTable = !asRecord && pulseColumns(columns, () => false).voltages.length > 0;
  if (!isPulseTable && isChargeLogHeader(head, chosen)) return 'stack-log';
  if (isRecord && !isPulseTable) return 'record';
  if (has(/^(step )?duration$/) && has(/^(step|step (number|index|no|id))$/)) return 'step-table';
  const quantities = has(/capacity|resistance|energy|\bre\b/);
  if (has(cycleNames) && quantities) return 'cycle-table';
  if (isPulseTable || has(serialNamesOfTable) || keyColumns(columns, head.firstRows).cell.length > 0)
    return 'cell-table';
  return null;
}
