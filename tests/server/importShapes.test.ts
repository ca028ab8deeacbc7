import { Readable } from 'node:stream';
import { gunzipSync } from 'node:zlib';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ImportOptions, ImportReport } from '../../server/contract/import.ts';
import { bufferSource, gunzipSource } from '../../server/import/byteSource.ts';
import { findRecord, readRecordColumnAt } from '../../server/store/records.ts';
import { importFile } from '../../server/use-cases/imports/importFile.ts';
import { previewImport } from '../../server/use-cases/imports/previewImport.ts';
import { undoImport } from '../../server/use-cases/imports/undoImport.ts';
import { type Grid, type Shape, shapes, textOf, truth } from '../support/benchFiles.ts';
import { selectOne } from '../support/sql.ts';
import { openTestApp, type TestApp } from '../support/testApp.ts';
import { makeLot } from './importLot.ts';

let app: TestApp;
beforeAll(async () => {
  app = await openTestApp();
  await makeLot(app.context.store, 'L-1');
});
afterAll(() => app.close());

function offered(name: string, bytes: Buffer) {
  const packed = bytes[0] === 0x1f && bytes[1] === 0x8b;
  return {
    name,
    open: async () => (packed ? gunzipSource(Readable.from([bytes])) : bufferSource(bytes)),
    rereadable: true,
  };
}

function take(name: string, bytes: Buffer, options: ImportOptions): Promise<ImportReport> {
  return importFile(app.context, offered(name, bytes), { lot: 'L-1', ...options }, 'b');
}

async function stored(report: ImportReport) {
  const record = await findRecord(app.context.store, report.runs[0].testId as number);
  if (record === null) throw new Error('no record is stored');
  const columns = new Map<string, number[]>();
  for (const [place, { role }] of record.columns.entries())
    columns.set(role, [...(await readRecordColumnAt(app.context.store, record, place, 0, record.rowCount))]);
  return (role: string): number[] => columns.get(role) ?? [];
}

const counted = () =>
  selectOne(
    app.context.store,
    `SELECT (SELECT COUNT(*) FROM Test) AS tests, (SELECT COUNT(*) FROM Record) AS records,
       (SELECT COUNT(*) FROM RecordChunk) AS chunks, (SELECT COUNT(*) FROM Cell) AS cells,
       (SELECT COUNT(*) FROM Measurement) AS measurements`,
  );

/** A row far enough from both ends, and the place of a mutation in it. */
const MIDDLE = 20;

type Mutation = (grid: Grid, shape: Shape) => Grid;

function withField(grid: Grid, row: number, at: number, text: string): Grid {
  return {
    ...grid,
    rows: grid.rows.map((fields, i) => (i === row ? fields.toSpliced(at, 1, text) : fields)),
  };
}

const mutations: Readonly<Record<string, Mutation>> = {
  'a word for a voltage': (grid, { voltageAt }) => withField(grid, MIDDLE, voltageAt, 'broken'),
  'an empty voltage': (grid, { voltageAt }) => withField(grid, MIDDLE, voltageAt, ''),
  'a voltage that is no number': (grid, { voltageAt }) => withField(grid, MIDDLE, voltageAt, 'NaN'),
  'an impossible voltage': (grid, { voltageAt }) => withField(grid, MIDDLE, voltageAt, '37000000000.5'),
  'two numbers in one field': (grid, { voltageAt }) => withField(grid, MIDDLE, voltageAt, '3.7 3.7'),
  'a hexadecimal voltage': (grid, { voltageAt }) => withField(grid, MIDDLE, voltageAt, '0x3F'),
  'a row cut short': (grid, { voltageAt }) => ({
    ...grid,
    rows: grid.rows.map((fields, i) => (i === MIDDLE ? fields.slice(0, voltageAt) : fields)),
  }),
  'a field too many': (grid) => ({
    ...grid,
    rows: grid.rows.map((fields, i) => (i === MIDDLE ? [...fields, '7', '8'] : fields)),
  }),
  'two columns of one name': (grid, { voltageAt }) => ({
    ...grid,
    header: grid.header.map((name, i) => (i === voltageAt - 1 ? grid.header[voltageAt] : name)),
  }),
  'a voltage called otherwise': (grid, { voltageAt }) => ({
    ...grid,
    header: grid.header.map((name, i) => (i === voltageAt ? 'reading' : name)),
    units: grid.units?.map((unit, i) => (i === voltageAt ? '' : unit)) ?? null,
  }),
  'the current in the place of the voltage alone': (grid, { voltageAt }) => ({
    ...grid,
    header: grid.header.filter((_, i) => i !== voltageAt),
    units: grid.units?.filter((_, i) => i !== voltageAt) ?? null,
    rows: grid.rows.map((fields) => fields.filter((_, i) => i !== voltageAt)),
  }),
  'no rows': (grid) => ({ ...grid, rows: [], footer: [] }),
};

/** What a shape cannot be broken by: without a header there is no name, and Parquet has no ragged rows. */
function canBreak(shape: Shape, mutation: string): boolean {
  const named = ['two columns of one name', 'a voltage called otherwise'].includes(mutation);
  if (shape.grid.header.length === 0 && (named || mutation === 'no rows')) return false;
  // The names stand in the line above; this one holds units.
  if (named && shape.grid.header[shape.voltageAt].startsWith('(')) return false;
  if (shape.name === 'Parquet' && ['a field too many', 'two columns of one name'].includes(mutation))
    return false;
  return true;
}

describe('the same test in every shape that benches write', () => {
  const all = shapes();
  it('has at least forty shapes', () => {
    expect(all.length).toBeGreaterThanOrEqual(40);
    expect(new Set(all.map(({ name }) => name)).size).toBe(all.length);
  });

  it.each(all.map((one) => [one.name, one] as const))(
    '%s: is imported to the same numbers, as the preview shows',
    async (_, one) => {
      const bytes = one.write(one.grid);
      const unpacked = one.fileName.endsWith('.gz') ? gunzipSync(bytes) : bytes;
      const shown = await previewImport(app.context, one.fileName, unpacked, true, {
        lot: 'L-1',
        ...one.options,
      });
      const report = await take(one.fileName, bytes, one.options);
      expect(report.refusal).toBeNull();
      expect(report).toMatchObject({ state: 'taken', kind: 'record', cells: ['C-1'] });
      const column = await stored(report);
      const samples = truth();
      expect(column('voltage')).toEqual(samples.map(({ voltageV }) => voltageV));
      expect(column('current').map((value) => value + 0)).toEqual(samples.map(({ currentA }) => currentA));
      const timeS = column('time');
      timeS.forEach((time, i) => {
        expect(time - timeS[0]).toBeCloseTo(samples[i].timeS, 5);
      });
      expectSame(shown, report);
      expect(shown.firstRows).toEqual(await firstRows(report, shown.firstRows.length));
      await undoImport(app.context, report.sourceFileId as number);
    },
  );

  it.each(all.map((one) => [one.name, one] as const))(
    '%s: ten ways of breaking it are each refused by name, and nothing is stored',
    async (_, one) => {
      const before = await counted();
      let tried = 0;
      for (const [name, mutate] of Object.entries(mutations)) {
        if (!canBreak(one, name)) continue;
        const report = await take(one.fileName, one.write(mutate(one.grid, one)), one.options);
        expect(report.state, `${one.name}: ${name}`).toBe('refused');
        const { refusal } = report;
        expect(refusal?.reason, `${one.name}: ${name}`).not.toBe('');
        expect(refusal?.expected, `${one.name}: ${name}`).not.toBe('');
        expect(refusal?.row ?? refusal?.column ?? null, `${one.name}: ${name}`).not.toBeNull();
        tried++;
      }
      expect(tried).toBeGreaterThanOrEqual(9);
      expect(await counted()).toEqual(before);
    },
  );
});

/** The first rows as they are stored, in the order of the columns. */
async function firstRows(report: ImportReport, count: number): Promise<(number | null)[][]> {
  const record = await findRecord(app.context.store, report.runs[0].testId as number);
  if (record === null) return [];
  const columns = await Promise.all(
    record.columns.map((_, place) => readRecordColumnAt(app.context.store, record, place, 0, count)),
  );
  return Array.from({ length: count }, (_, row) =>
    columns.map((column) => (Number.isFinite(column[row]) ? column[row] : null)),
  );
}

/** What a preview shows is what an import stores. */
function expectSame(shown: Awaited<ReturnType<typeof previewImport>>, report: ImportReport): void {
  expect(shown.refusal).toEqual(report.refusal);
  expect(shown.mapping).toEqual(report.mapping);
  expect(shown.unusedColumns).toEqual(report.unusedColumns);
  expect(shown.dialect).toEqual(report.dialect);
  expect(shown.runs.map((run) => ({ ...run, testId: null }))).toEqual(
    report.runs.map((run) => ({ ...run, testId: null })),
  );
  expect(shown.creates).toMatchObject({
    cells: report.cells,
    tests: report.runs.length,
    measurements: report.measurementsCreated,
  });
  expect(shown.warnings).toEqual(report.warnings);
}

describe('what a preview shows', () => {
  it('is what an import stores, whatever the file', async () => {
    const samples = truth();
    const dialect = fc.record({
      delimiter: fc.constantFrom(',', ';', '\t'),
      decimal: fc.constantFrom('.' as const, ',' as const),
      lineEnd: fc.constantFrom('\n', '\r\n'),
      cell: fc.constantFrom('A-1', 'B 2', 'ß-3'),
      count: fc.integer({ min: 1, max: 48 }),
      broken: fc.constantFrom(-1, -1, 0, 3, 17),
      broke: fc.constantFrom('x', '', '99', '1e999'),
      scale: fc.constantFrom(1, 1000),
    });
    let number = 0;
    await fc.assert(
      fc.asyncProperty(dialect, async (one) => {
        if (one.delimiter === ',' && one.decimal === ',') return;
        const unit = one.scale === 1 ? 'V' : 'mV';
        const grid: Grid = {
          preamble: [`file ${++number}`],
          header: ['time_s', `voltage_${unit}`, 'current_A'],
          units: null,
          rows: samples
            .slice(0, one.count)
            .map((s, i) => [
              s.timeS.toFixed(1),
              i === one.broken ? one.broke : (s.voltageV * one.scale).toFixed(4),
              s.currentA.toFixed(3),
            ]),
          footer: [],
        };
        const bytes = Buffer.from(textOf(grid, one));
        const options = { lot: 'L-1', cell: one.cell };
        const shown = await previewImport(app.context, 'r.csv', bytes, true, options);
        const report = await take('r.csv', bytes, options);
        if (report.state === 'refused') {
          expect(shown.refusal).toEqual(report.refusal);
          return;
        }
        expectSame(shown, report);
      }),
      { numRuns: 60, seed: 20261130 },
    );
  });
});
