import type { ImportReport } from '../../../server/contract/import.ts';

import { refreshPresentValues } from '../../../server/store/presentValues.ts';
import type { Store } from '../../../server/store/store.ts';
import { recountTests } from '../../../server/store/testCounts.ts';
import { runSql } from '../../support/sql.ts';
import { fillImportDatabase } from './importDatabase.ts';

/** How much a lot holds. */
export interface LotSize {
  readonly cells: number;
  readonly tests: number;
  readonly imports: number;
  readonly measurements: number;
}

/** Lines of each import's report, about 12 KB. */
const reportLines = 150;

const numbers = (count: number) =>
  `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ${count})`;

/** The report of an import with many lines. */
function longReport(): ImportReport {
  return {
    sourceFileId: null,
    fileName: 'bench.csv',
    state: 'taken',
    kind: 'cell-table',
    sha256: null,
    bytes: 1000,
    rowCount: 10,
    dialect: null,
    mapping: [],
    unusedColumns: [],
    preamble: [],
    runs: [],
    cells: Array.from({ length: reportLines }, (_, i) => `C-${100_000 + i}`),
    cellsCreated: 0,
    measurementsCreated: 0,
    stackLogId: null,
    cellReports: [],
    warnings: Array.from(
      { length: reportLines },
      (_, i) => `Row ${i}: a remark of one sentence about a value of this row`,
    ),
    refusal: null,
  };
}

/** Fills an empty database with one lot, made in the database itself: an import would take hours. */
export async function fillBigLot(store: Store, size: LotSize): Promise<void> {
  const { cells, tests, imports, measurements } = size;
  await fillImportDatabase(store);
  const at = "'2026-01-01T00:00:00.000Z'";
  const isCapacity = `i / ${cells} % 5 = 0`;
  const statements = [
    `INSERT INTO Cell (lotId, serial, createdAt) ${numbers(cells)} SELECT 1, 'C-' || (100000 + i), ${at} FROM n`,
    `INSERT INTO SourceFile (name, sha256, takenSha256, bytes, kind, state, lotId, rowCount, importedAt, importedBy, reportJson)
       ${numbers(imports)} SELECT 'file-' || i, 'sha-' || i, 'sha-' || i, 1000, 'cell-table', 'taken', 1, 10, ${at},
       'bench', '${JSON.stringify(longReport())}' FROM n`,
    `INSERT INTO Test (cellId, kind, state, createdAt, evaluatedAt) ${numbers(tests)}
       SELECT 1 + i % ${cells}, 'capacity', 'sealed', ${at}, ${at} FROM n`,
    `INSERT INTO Measurement (cellId, testId, quantity, unit, value, soc, temperatureC, direction, durationS, cycle, method, createdAt)
       ${numbers(measurements)} SELECT 1 + i % ${cells}, 1 + i % ${tests},
       CASE WHEN ${isCapacity} THEN 'capacity' ELSE 'resistance' END, CASE WHEN ${isCapacity} THEN 'Ah' ELSE 'Ohm' END,
       2 + (i % 977) * 0.001, CASE WHEN ${isCapacity} THEN NULL ELSE (i / ${cells} % 20) / 20.0 END, 25,
       CASE WHEN ${isCapacity} THEN NULL ELSE 'discharge' END, CASE WHEN ${isCapacity} THEN NULL ELSE 10 END,
       i / ${5 * cells}, 'bench', ${at} FROM n`,
  ];
  for (const statement of statements) await runSql(store, statement);

  const cellIds = Array.from({ length: cells }, (_, i) => i + 1);
  await recountTests(store, cellIds);
  await refreshPresentValues(store, { cellIds, quantities: ['capacity', 'resistance'] });
  await runSql(store, 'ANALYZE');
}
