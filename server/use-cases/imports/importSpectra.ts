import type { ImportReport } from '../../contract/import.ts';
import { readRows } from '../../import/readTableFile.ts';
import { readSpectra, type TableSweep } from '../../import/spectrumTable.ts';
import { startInPreamble } from '../../import/startInPreamble.ts';
import type { OpenedTable } from '../../import/streamRecord.ts';
import { givenSerial, tableContent } from './importTable.ts';
import type { ImportTarget, TakenContent } from './importTarget.ts';
import type { TakenTest } from './takenFile.ts';

/** Reads a table of impedance over frequency; each cell gets one test with all its spectra of the file. */
export async function importSpectra(target: ImportTarget, opened: OpenedTable): Promise<TakenContent> {
  const table = await readRows(opened, target.options.afterData);
  target.onProgress(table.byteCount, table.rows.length);
  const { options, fromName } = target;
  const { sweeps, mapping, warnings } = readSpectra(table, options);
  const cells = [...spectraByCell(sweeps)];
  const tests = cells.map(([serial, own]): TakenTest => {
    const rows = rowRange(own);
    return {
      serial: serial ?? givenSerial(target, table),
      kind: 'impedance',
      label: options.label ?? fromName.label ?? '',
      startedAt: cells.length === 1 ? startInPreamble(table.dialect.preamble) : null,
      temperatureC: commonTemperature(own) ?? options.temperatureC ?? fromName.temperatureC,
      startSoc: options.startSoc ?? fromName.startSoc,
      cycle: null,
      firstRow: rows.first,
      lastRow: rows.last,
      record: null,
      steps: [],
      sweeps: own,
    };
  });
  const content = tableContent(target, table, 'impedance-table', { measurements: [], warnings });
  return {
    ...content,
    tests,
    report: {
      ...content.report,
      mapping: [...mapping],
      runs: tests.map((test, i) => spectraRun(test.serial, cells[i][1])),
    },
  };
}

/** The spectra of each serial; of the whole file under null where it has no column of serials. */
export function spectraByCell(sweeps: readonly TableSweep[]): Map<string | null, TableSweep[]> {
  const cells = new Map<string | null, TableSweep[]>();
  for (const sweep of sweeps) {
    const known = cells.get(sweep.cell);
    if (known === undefined) cells.set(sweep.cell, [sweep]);
    else known.push(sweep);
  }
  return cells;
}

/** A cell's spectra as the report of an import tells of them. How long they took is not known. */
export function spectraRun(cell: string | null, sweeps: readonly TableSweep[]): ImportReport['runs'][number] {
  return {
    key: [],
    cell,
    testKind: 'impedance',
    rowCount: sweeps.reduce((sum, sweep) => sum + sweep.sourceRows.length, 0),
    firstRow: rowRange(sweeps).first,
    durationS: 0,
    testId: null,
  };
}

function rowRange(sweeps: readonly TableSweep[]): { readonly first: number; readonly last: number } {
  let [first, last] = [Infinity, 0];
  for (const { sourceRows } of sweeps) {
    for (const row of sourceRows) {
      first = Math.min(first, row);
      last = Math.max(last, row);
    }
  }
  return { first, last };
}

/** The temperature that all spectra of a cell share; null where they differ or state none. */
function commonTemperature(sweeps: readonly TableSweep[]): number | null {
  const [first] = sweeps;
  return sweeps.every(({ temperatureC }) => temperatureC === first.temperatureC) ? first.temperatureC : null;
}
