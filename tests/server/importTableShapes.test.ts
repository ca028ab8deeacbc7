import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportOptions, ImportReport } from '../../server/contract/import.ts';
import { bufferSource } from '../../server/import/byteSource.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import type { Grid } from '../support/benchFiles.ts';
import { selectAll, selectOne } from '../support/sql.ts';
import { type TableKind, type TableShape, tableKinds, tableShapes } from '../support/tableShapes.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let app: TestApp;
beforeAll(async () => {
  app = await openTestApp();
  await makeLot(app.context.store, 'L-1');
});
afterAll(() => app.close());

function take(name: string, bytes: Buffer, options: ImportOptions): Promise<ImportReport> {
  const file = { name, open: async () => bufferSource(bytes), rereadable: true };
  return importFile(app.context, file, { lot: 'L-1', ...options }, 'b');
}

const stored = (serial: string) =>
  selectAll<{ quantity: string; value: number }>(
    app.context.store,
    `SELECT m.quantity, m.value FROM Measurement m JOIN Cell c ON c.id = m.cellId
     WHERE c.serial = ? AND m.supersededAt IS NULL AND m.quantity IN ('capacity', 'charge-capacity', 'resistance', 'ocv')
     ORDER BY m.id`,
    serial,
  );

const counted = () =>
  selectOne(
    app.context.store,
    `SELECT (SELECT COUNT(*) FROM Test) AS tests, (SELECT COUNT(*) FROM Step) AS steps,
       (SELECT COUNT(*) FROM Cell) AS cells, (SELECT COUNT(*) FROM Measurement) AS measurements`,
  );

/** A row far enough from both ends. */
const MIDDLE = 5;

const withField = (grid: Grid, at: number, text: string): Grid => ({
  ...grid,
  rows: grid.rows.map((row, i) => (i === MIDDLE ? row.toSpliced(at, 1, text) : row)),
});

const mutations: Readonly<Record<string, (grid: Grid, kind: TableKind) => Grid>> = {
  'a word for a number': (grid, { valueAt }) => withField(grid, valueAt, 'broken'),
  'two numbers in one field': (grid, { valueAt }) => withField(grid, valueAt, '3.7 3.7'),
  'a hexadecimal number': (grid, { valueAt }) => withField(grid, valueAt, '0x3F'),
  'a number without end': (grid, { valueAt }) => withField(grid, valueAt, '1e999'),
  'what a meter writes beyond its range': (grid, { valueAt }) => withField(grid, valueAt, 'OVER'),
  'a number and a unit in one field': (grid, { valueAt }) => withField(grid, valueAt, '31 mOhm'),
  'a row cut short': (grid) => ({
    ...grid,
    rows: grid.rows.map((row, i) => (i === MIDDLE ? row.slice(0, 2) : row)),
  }),
  'fields too many': (grid) => ({
    ...grid,
    rows: grid.rows.map((row, i) => (i === MIDDLE ? [...row, '7', '8'] : row)),
  }),
  'a quote that does not close': (grid) => withField(grid, 0, '"open'),
  'two columns of one name': (grid, { valueAt }) => ({
    ...grid,
    header: grid.header.map((name, i) => (i === valueAt - 1 ? grid.header[valueAt] : name)),
  }),
  'names that say nothing': (grid) => ({ ...grid, header: grid.header.map((_, i) => `field ${i}`) }),
  'no rows': (grid) => ({ ...grid, rows: [], footer: [] }),
};

/** What cannot be written: a Parquet file and a spreadsheet have as many fields in every row, and no quotes. */
function canBreak(shape: TableShape, mutation: string): boolean {
  const ragged = ['a row cut short', 'fields too many', 'a quote that does not close'];
  if (!shape.ragged && ragged.includes(mutation)) return false;
  return !(shape.name === 'Parquet' && ['two columns of one name'].includes(mutation));
}

const all = tableKinds().flatMap((kind) =>
  tableShapes().map((shape) => [`${kind.name}, ${shape.name}`, kind, shape] as const),
);

describe('a table of results in every shape that benches write', () => {
  it.each(all)('%s: gives the same values, as the preview shows', async (_, kind, shape) => {
    const bytes = shape.write(kind.grid);
    const shown = await previewImport(app.context, shape.fileName, bytes, true, {
      lot: 'L-1',
      ...kind.options,
    });
    const report = await take(shape.fileName, bytes, kind.options);
    expect(report.refusal).toBeNull();
    expect(report.rowCount).toBe(kind.grid.rows.length);
    const values = await stored(kind.options.cell ?? kind.grid.rows[0][0]);
    expect(values.map(({ quantity }) => quantity)).toEqual(kind.values.map(([quantity]) => quantity));
    values.forEach(({ value }, i) => {
      expect(value).toBeCloseTo(kind.values[i][1], 9);
    });
    expect(shown).toMatchObject({
      refusal: null,
      mapping: report.mapping,
      unusedColumns: report.unusedColumns,
      warnings: report.warnings,
      creates: { cells: report.cells, measurements: report.measurementsCreated },
    });
    await undoImport(app.context, report.sourceFileId as number);
  });

  it.each(all)(
    '%s: ways of breaking it are each refused by name, and nothing is stored',
    async (_, kind, shape) => {
      const before = await counted();
      let tried = 0;
      for (const [name, mutate] of Object.entries(mutations)) {
        if (!canBreak(shape, name)) continue;
        const report = await take(shape.fileName, shape.write(mutate(kind.grid, kind)), kind.options);
        expect(report.state, name).toBe('refused');
        expect(report.refusal?.reason, name).not.toBe('');
        expect(report.refusal?.expected, name).not.toBe('');
        expect(report.refusal?.row ?? report.refusal?.column ?? null, name).not.toBeNull();
        tried++;
      }
      expect(tried).toBeGreaterThanOrEqual(8);
      expect(await counted()).toEqual(before);
    },
  );
});
