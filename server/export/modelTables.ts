import { SAME_TEMPERATURE_C } from '../../fitting/circuit/index.ts';
import type { CellParameters, CircuitTable } from '../contract/parameterSet.ts';
import { need, requirePositive } from './needed.ts';
import { ExportRefused } from './refusal.ts';

/**
 * Direction of current of the tables that the model takes: the wanted one, else that of the tables which
 * show most of the polarisation (more branches, or pulses longer by half), of like ones charge.
 */
export function chosenDirection(
  cell: CellParameters,
  wanted?: 'charge' | 'discharge',
): 'charge' | 'discharge' {
  if (wanted !== undefined) return wanted;
  const shown = (direction: 'charge' | 'discharge') => {
    const tables = cell.circuits.filter((table) => table.direction === direction && table.rows.length >= 2);
    const branches = tables.flatMap((table) => table.rows.map((row) => row.branches.length));
    return {
      tables: tables.length,
      branches: branches.length === 0 ? 0 : branches.reduce((sum, count) => sum + count, 0) / branches.length,
      durationS: Math.max(0, ...tables.map((table) => table.validity.durationMaxS ?? 0)),
    };
  };
  const [charge, discharge] = [shown('charge'), shown('discharge')];
  if (charge.tables === 0 && discharge.tables === 0)
    return cell.circuits.some((table) => table.direction === 'charge') ? 'charge' : 'discharge';
  if (charge.tables === 0 || discharge.tables === 0) return charge.tables > 0 ? 'charge' : 'discharge';
  const more = discharge.branches > charge.branches + 0.5;
  return more || discharge.durationS > 1.5 * charge.durationS ? 'discharge' : 'charge';
}

/** The tables of one direction ascending in temperature; of tables at one temperature the last counts. */
export function chooseTables(
  cell: CellParameters,
  direction: 'charge' | 'discharge',
  name: string,
): CircuitTable[] {
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

/** @throws ExportRefused naming the row of a table that is too short, not ascending in SOC or outside its physical range */
export function checkTable(table: CircuitTable, name: string): void {
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
